"""Which animal: species, sort, count, weight, ear tag, found dead or shot.

A word that names two kinds of animal (stag, calf, buck) is decided only by another word of the
same text, and asked about otherwise: the advice and the teeth depend on it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from bot.reading.listening import NUMBER_LIMIT, Listening
from bot.reading.phrases import Hit
from bot.reading.values import Animal, Choice, Found, Unclear

_KILOS = {"k": 1.0, "l": 0.45359237, "p": 0.45359237}
"""Kilograms in a unit, by its first letter. The pound: NIST SP 811, appendix B.8."""

_UNITS = ("kg", "kilo", "lb", "pound")
"""One of these stands in every written weight."""

_MEASURE_WORDS = """
kg kgs kilo kilos lb lbs pound pounds livres libras yo yr yrs year years mth mths month months wk
wks week weeks day days hr hrs hour hours min mins minutes ano anos mes meses semana semanas dia
dias hora horas an ans mois semaine semaines jour jours heure heures
"""
_MEASURES = frozenset(_MEASURE_WORDS.split())
"""A number before one of these counts no animals ("a 60 kg sow", "2 yr old boar")."""

_YOUNG = frozenset({"piglet", "calf"})
"""Sorts that stand by their mother."""

_FOUND_NEAR = 5
"""Words from "found" to its "dead" ("found one pig dead")."""

_HEAVIEST = 1000
_WEIGHT = re.compile(
    r"(?<![\w.,])(?P<figure>\d{1,3}(?:[.,]\d)?) ?"
    r"(?P<unit>kgs?|kilos?|kilogram\w{0,3}|lbs?|pounds?)\b(?! (?:of|de)\b)",
    re.IGNORECASE,
)
_TAG_NUMBER = re.compile(
    r"[ :#.]{0,3}(?:(?:number|no|num|numero|n)\b[ .:#\u00b0]{0,3})?((?=[\w-]{0,11}\d)[\w-]{1,12})",
    re.IGNORECASE,
)


class _Named(NamedTuple):
    """One mention of an animal: what it may be ("pig/sow"), where, and how many."""

    hit: Hit
    choices: tuple[tuple[str, str], ...]
    number: int | None


def read_animal(heard: Listening) -> tuple[Found[Animal] | None, tuple[Unclear, ...]]:
    """The one animal that a text is about, or what has to be asked about it."""
    named = [n for n in _mentions(heard) if not _is_denied(heard, n.hit)]
    named = _without_bystanders(heard, _decided(heard, named))
    if not named:
        return None, ()
    first, last = named[0].hit.first, named[-1].hit.last
    start, end = heard.stretch(first, last)
    words = heard.page.heard(start, end)
    choices = _all_choices(named)
    if len(choices) > 1:
        offered = tuple(_choice(c, named[0].number or 1) for c in choices)
        one = len(named) == 1 or len({n.choices for n in named}) == 1
        why = "two_species" if one else "two_animals"
        return None, (Unclear("species", why, words, offered, start, end),)
    return Found(_animal(heard, named), words, start, end), ()


def _mentions(heard: Listening) -> Iterator[_Named]:
    if "animal" not in heard.kinds and "two_species" not in heard.kinds:
        return
    for hit in heard.hits:
        kinds = hit.meaning.kinds
        if "animal" not in kinds and "two_species" not in kinds:
            continue
        animal, two = kinds.get("animal"), kinds.get("two_species")
        if _names_a_place(heard, hit):
            continue
        if animal is not None:
            choices: tuple[tuple[str, str], ...] = ((animal.key, animal.shade),)
        elif two is not None:
            written = heard.words.two_species[two.key].choices
            choices = tuple((c.partition("/")[0], c.partition("/")[2]) for c in written)
        yield _Named(hit, choices, _count(heard, hit.first))


def _names_a_place(heard: Listening, hit: Hit) -> bool:
    """ "Goat Creek", "cow paddock", "arroyo del ciervo": an animal in a name of a place."""
    return any(
        (other.first == hit.last and not heard.tokens[other.first].before)
        or (
            other.last == hit.first
            and other.meaning.terms[0].language != "en"
            and not heard.tokens[hit.first].before
        )
        for other, _ in heard.of("ground")
    )


def _is_denied(heard: Listening, hit: Hit) -> bool:
    """ "not a pig" names no animal; "no pigs" neither."""
    if hit.first == 0 or heard.tokens[hit.first].before:
        return False
    return heard.tokens[hit.first - 1].word in ("not", "isnt", "wasnt", "no", "pas")


def _count(heard: Listening, first: int) -> int | None:
    """The number that stands one or two words before an animal ("two big sows"); what it weighs
    or how old it is may stand between ("3 x 60 kg sows")."""
    at, looked = first - 1, 0
    while at >= 0 and looked < 2 and not heard.tokens[at + 1].before:
        word = heard.tokens[at].word
        number = heard.number(at)
        if number is not None:
            return number if 0 < number <= NUMBER_LIMIT else None
        if word in ("with", "and", "con", "avec", "y", "et"):
            return None
        measured = word in _MEASURES
        at -= 2 if measured else 1
        looked += not measured
    return None


def _decided(heard: Listening, named: list[_Named]) -> list[_Named]:
    """Settle the words for two species by the plain ones, and by hints (antlers, tusks)."""
    plain = {n.choices[0][0] for n in named if len(n.choices) == 1}
    hints = {term.key for _, term in heard.of("hint")}
    settled = []
    for one in named:
        if len(one.choices) > 1:
            fitting = [c for c in one.choices if c[0] in plain]
            if not fitting:
                fitting = [c for c in one.choices if c[0] in hints]
            if len(fitting) == 1:
                one = one._replace(choices=tuple(fitting))
        settled.append(one)
    return settled


def _without_bystanders(heard: Listening, named: list[_Named]) -> list[_Named]:
    """Farm stock that stands beside a wild animal in a text is where it was, not what it is."""
    wild = [n for n in named if not any(heard.words.livestock(species) for species, _ in n.choices)]
    return wild or named


def _all_choices(named: list[_Named]) -> tuple[tuple[str, str], ...]:
    """What the mentions leave open: one pair of species and sort where they agree."""
    open_words = [n for n in named if len(n.choices) > 1]
    plain = list(dict.fromkeys(n.choices[0] for n in named if len(n.choices) == 1))
    species = list(dict.fromkeys(s for s, _ in plain))
    if open_words and not plain:
        return tuple(dict.fromkeys(c for n in open_words for c in n.choices))
    if open_words:
        return tuple(dict.fromkeys([*plain, *(c for n in open_words for c in n.choices)]))
    if len(species) > 1:
        return tuple(plain)
    return ((species[0], ""),)


def _choice(choice: tuple[str, str], count: int) -> Choice:
    species, sort = choice
    return Choice(f"{species}/{sort}" if sort else species, Animal(species, sort, count))


def _animal(heard: Listening, named: list[_Named]) -> Animal:
    """One animal, or several of one species, from mentions that agree."""
    sorted_ones = [n for n in named if n.choices[0][1]]
    sorts = list(dict.fromkeys(n.choices[0][1] for n in sorted_ones))
    sort = sorts[0] if sorts else ""
    counts = [n.number for n in named if n.number]
    count = counts[0] if counts else 1
    each: tuple[tuple[str, int], ...] = ()
    if len(sorts) > 1:
        several = not _accompanied(heard, sorted_ones)
        count = sum(n.number or 1 for n in sorted_ones) if several else sorted_ones[0].number or 1
        sort = "" if several else sort
        each = _each(sorted_ones) if several else ()
    if (clean := _clean_ones(heard)) and clean != count:
        # "3 clean, all pigs": so many are told of. Of "4 pigs, 3 clean" only three are clean.
        sort = "" if counts else sort
        count, each = clean, each if sum(n for _, n in each) <= clean else ()
    return Animal(
        species=named[0].choices[0][0],
        sort=sort,
        count=count,
        weight_kg=_weight(heard),
        tag_number=_tag_number(heard),
        found_dead=found_dead(heard),
        sorts=each,
    )


def _each(named: list[_Named]) -> tuple[tuple[str, int], ...]:
    """How many of each sort, in the order of the text."""
    counts: dict[str, int] = {}
    for one in named:
        sort = one.choices[0][1]
        counts[sort] = counts.get(sort, 0) + (one.number or 1)
    return tuple(counts.items())


def _clean_ones(heard: Listening) -> int | None:
    """The number in "3 clean"; None where none is told."""
    for hit, _ in heard.of("all_clear"):
        if (number := heard.number(hit.first)) is not None:
            return number if 0 < number <= NUMBER_LIMIT else None
    return None


def _accompanied(heard: Listening, named: list[_Named]) -> bool:
    """ "a sow with six piglets": the first is the animal, the others only stood by it.

    "2 sows 1 boar" counts each by itself; a mother before her young is no such list.
    """
    between = heard.tokens[named[0].hit.last : named[1].hit.first]
    young = any(n.choices[0][1] in _YOUNG for n in named[1:])
    if not young and all(n.number for n in named) and len(between) <= 1:
        return False
    return any(t.word in ("with", "con", "avec") for t in between) or not any(
        t.word in ("and", "y", "et", "n", "plus") or t.before == ","
        for t in [*between, heard.tokens[named[1].hit.first]]
    )


def found_dead(heard: Listening) -> bool:
    """Whether the animal was found dead rather than shot.

    Words that say it outright win unless the text told of the shot before them; a bare "dead"
    counts where nobody tells of a shot.
    """
    told = [(hit.first, term.key) for hit, term in heard.of("dead")]
    if not told:
        return False
    found = [hit.first for hit, _ in heard.of("finding")]
    shots = [at for at, key in told if key == "shot"]
    outright = [
        at
        for at, key in told
        if key == "found_dead" or (key == "dead" and any(0 < at - f <= _FOUND_NEAR for f in found))
    ]
    if outright:
        return not shots or min(outright) < min(shots)
    return bool(told) and not shots


def _weight(heard: Listening) -> float | None:
    """The weight in kilograms; not that of meat given away ("3 kg of sausages")."""
    left = heard.page.left
    if not any(map(left.lower().__contains__, _UNITS)):
        return None  # A cheap look first: most texts tell no weight.
    for match in _WEIGHT.finditer(left):
        weight = float(match["figure"].replace(",", ".")) * _KILOS[match["unit"][0].lower()]
        if 0 < weight < _HEAVIEST:
            return round(weight, 1)
    return None


def _tag_number(heard: Listening) -> str:
    for hit, term in heard.of("mark"):
        _, end = heard.stretch(hit.first, hit.last)
        if term.key == "tag" and (match := _TAG_NUMBER.match(heard.page.left, end)):
            return match.group(1)
    return ""
