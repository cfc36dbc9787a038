"""A reading as the JSON object that `bushpost read` prints. Keys are only ever added.

place    {lat, lon, accuracy_m, notation, assumed, role, landmark, heard} or null;
         the kill place where there are two
places   every place, in the same shape
when     {earliest, latest, assumed, heard} or null; latest is exclusive, both with offset
species  {name, sort, livestock, heard} or null
animals  how many animals the text is about (0 where it names none)
signs    [{site, side, look, heard}]
checked  [{site, side, state, heard}]; state is clear, not_found or not_looked
unclear  [{question, why, heard, choices}]; question is place, when, species or signs
"""

from __future__ import annotations

from typing import Any

from bot.reading.values import Animal, Choice, Found, Place, Reading, Unclear, When
from bot.reading.words import Words


def shape(reading: Reading, words: Words) -> dict[str, Any]:
    """The documented JSON object of one reading, ready for a JSON writer."""
    animal = reading.animal
    return {
        "place": _place(_main_place(reading)),
        "when": _when(reading.when),
        "species": animal and _species(animal, words),
        "signs": [
            {"site": f.value.site, "side": f.value.side, "look": f.value.look, "heard": f.heard}
            for f in reading.signs
        ],
        "unclear": [_unclear(u) for u in reading.unclear],
        "places": [_place(p) for p in reading.places],
        "animals": animal.value.count if animal else 0,
        "checked": [
            {"site": f.value.site, "side": f.value.side, "state": f.value.state, "heard": f.heard}
            for f in reading.checked
        ],
        "weight_kg": animal.value.weight_kg if animal else None,
        "tag": animal.value.tag_number if animal else "",
        "found_dead": bool(animal and animal.value.found_dead),
        "language": reading.language,
        "words": [{"kind": w.kind, "key": w.key, "heard": w.heard} for w in reading.words],
    }


def _main_place(reading: Reading) -> Found[Place] | None:
    kills = [p for p in reading.places if p.value.role != "pickup"]
    return next(iter([*kills, *reading.places]), None)


def _place(found: Found[Place] | None) -> dict[str, Any] | None:
    return {**_point(found.value), "heard": found.heard} if found else None


def _point(place: Place) -> dict[str, Any]:
    return {
        "lat": round(place.lat, 7),
        "lon": round(place.lon, 7),
        "accuracy_m": round(place.accuracy_m, 1),
        "notation": place.notation,
        "assumed": list(place.assumed),
        "role": place.role,
        "landmark": place.landmark,
    }


def _when(found: Found[When] | None) -> dict[str, Any] | None:
    return {**_span(found.value), "heard": found.heard} if found else None


def _span(when: When) -> dict[str, Any]:
    return {
        "earliest": when.earliest.isoformat(),
        "latest": when.latest.isoformat(),
        "assumed": list(when.assumed),
    }


def _species(found: Found[Animal], words: Words) -> dict[str, Any]:
    animal = found.value
    livestock = words.livestock(animal.species)
    return {
        "name": animal.species,
        "sort": animal.sort,
        "livestock": livestock,
        "heard": found.heard,
    }


def _unclear(unclear: Unclear) -> dict[str, Any]:
    return {
        "question": unclear.question,
        "why": unclear.why,
        "heard": unclear.heard,
        "choices": [_choice(c) for c in unclear.choices],
    }


def _choice(choice: Choice) -> dict[str, Any]:
    value = choice.value
    if isinstance(value, Place):
        return {"words": choice.words, **_point(value)}
    if isinstance(value, When):
        return {"words": choice.words, **_span(value)}
    if isinstance(value, Animal):
        return {"words": choice.words, "name": value.species, "sort": value.sort}
    return {"words": choice.words}
