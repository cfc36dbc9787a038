"""Finds as evidence: which count as a look, how good a look it was, and which are positive.

Law: a suspect that waits for its result is not a clean animal, and its zone has no probability
until the result is known. What cannot be counted (no place, no day, a species without a published
figure) is left out and named as left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import numpy as np
from msgspec import Struct

from bot.evidence.figures import Array
from bot.evidence.grid import CellGrid
from bot.evidence.lesions import BOAR, Looked, looked_at, se_of_look
from bot.evidence.months import Looks
from bot.evidence.sentences import Book
from bot.reading.values import Animal, Checked, Place, When
from bot.talk.state import Conversation, Seen

VAGUE = Looked({"jaw_node": 2})
"""What a bare "clean" counts as: the one pair that everybody comes upon. No source; the weakest."""


class Find(Struct, frozen=True):
    """One find that can be placed. WGS84 degrees; `state` as it was kept: suspect, clean or
    found_dead; `outcome` what the laboratory finally said, or ""."""

    code: str
    lat: float
    lon: float
    when: When
    animal: Animal
    state: str
    outcome: str
    looked: Looked = VAGUE


@dataclass(frozen=True)
class Sorted:
    """Finds by what they are. `left_out` are the codes of those that say nothing here."""

    looks: tuple[tuple[Find, float, float], ...]
    positives: tuple[Find, ...]
    pending: tuple[Find, ...]
    left_out: tuple[str, ...]

    @property
    def dated(self) -> tuple[Find, ...]:
        """Those that an account must reach back to."""
        return (*(find for find, _, _ in self.looks), *self.positives)


class Told(Struct, frozen=True):
    """What a conversation tells of its find as evidence; None is not known."""

    place: Place | None
    when: When | None
    animal: Animal | None
    checked: tuple[Checked, ...] = ()


def told_of(conversation: Conversation) -> Told:
    """The answers that count as evidence; what was declined is not known."""
    values = {q: a.value for q, a in conversation.answers.items() if not a.declined}
    place, when, animal = (values.get(q) for q in ("kill_place", "when", "species"))
    seen = values.get("seen")
    return Told(
        place=place if isinstance(place, Place) else None,
        when=when if isinstance(when, When) else None,
        animal=animal if isinstance(animal, Animal) else None,
        checked=seen.checked if isinstance(seen, Seen) else (),
    )


def find_of(code: str, state: str, outcome: str, conversation: Conversation) -> Find | None:
    """A kept find with its place, day and animal, or None where one of them is missing."""
    told = told_of(conversation)
    if told.place is None or told.when is None or told.animal is None:
        return None
    return Find(
        code=code,
        lat=told.place.lat,
        lon=told.place.lon,
        when=told.when,
        animal=told.animal,
        state=state,
        outcome=outcome,
        looked=look_of(told.checked),
    )


def look_of(checked: Iterable[Checked]) -> Looked:
    """What a look was at; one that names nothing counts as the weakest."""
    looked = looked_at(checked)
    return looked if looked != Looked() else VAGUE


def animals_in(state: str, outcome: str, told: int) -> int:
    """How many animals a find counts as: several that looked clean; one where a laboratory has
    spoken, since it had one."""
    return told if state == "clean" and not outcome else 1


def sort_finds(book: Book, finds: Iterable[Find]) -> Sorted:
    """What each find counts as; a look carries its sensitivity and its species' radius in km."""
    looks, positives, pending, left_out = [], [], [], []
    known: dict[tuple[object, ...], tuple[float, float] | None] = {}
    for find in finds:
        if find.outcome == "positive":
            positives.append(find)
        elif find.state == "suspect" and find.outcome != "negative":
            pending.append(find)
        elif quality := _quality_among(known, book, find):
            looks.append((find, *quality))
        else:
            left_out.append(find.code)
    return Sorted(tuple(looks), tuple(positives), tuple(pending), tuple(left_out))


def living_radius(book: Book, species: str) -> float | None:
    """The radius of a species' life in km: the smallest published one, since a larger one would
    claim to have covered more; None where there is none."""
    keys = book.several.get(species, [species])
    return min((r.km for r in book.ranges if r.kind == "life" and r.species in keys), default=None)


def months_from(first: datetime, moment: datetime, zone: tzinfo) -> int:
    """Calendar months of the local clock from `first` to `moment`."""
    a, b = first.astimezone(zone), moment.astimezone(zone)
    return (b.year - a.year) * 12 + b.month - a.month


def looks_of(
    grid: CellGrid,
    looks: Sequence[tuple[Find, float, float]],
    first: datetime,
    zone: tzinfo,
) -> Looks:
    """The looks as arrays, an animal a row; their month is that of the earliest day of death."""
    rows = [
        (find.lat, find.lon, se, radius, find.when.earliest.timestamp())
        for find, se, radius in looks
    ]
    times = [animals_in(f.state, f.outcome, f.animal.count) for f, _, _ in looks]
    table = np.repeat(np.array(rows, dtype=np.float64).reshape(-1, 5), times, axis=0)
    x, y = grid.to_km(table[:, 0], table[:, 1])
    begun = np.searchsorted(_month_starts(first, table[:, 4], zone), table[:, 4], side="right")
    return Looks(x, y, table[:, 2], table[:, 3], begun - 1)


def _month_starts(first: datetime, moments: Array, zone: tzinfo) -> Array:
    """The instants, as POSIX seconds, at which local months begin: from that of `first` to that
    of the last moment."""
    at = first.astimezone(zone).replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    starts, last = [at.timestamp()], moments.max(initial=0.0)
    while starts[-1] <= last:
        at = (at + timedelta(days=32)).replace(day=1)
        starts.append(at.timestamp())
    return np.array(starts)


def _quality_among(
    known: dict[tuple[object, ...], tuple[float, float] | None], book: Book, find: Find
) -> tuple[float, float] | None:
    """The quality of a look, reckoned once for all finds that are alike in what decides it."""
    look = find.looked
    alike = (find.animal.species, find.state, find.outcome, look.lungs, look.gut)
    key = (*alike, *sorted(look.nodes.items()))
    if key not in known:
        known[key] = _quality(book, find)
    return known[key]


def _quality(book: Book, find: Find) -> tuple[float, float] | None:
    """(sensitivity of the look, radius in km), or None where the find is no look at all.

    A negative culture is better than any look by eye; an animal found dead was not looked at.
    """
    if find.state == "found_dead" and find.outcome != "negative":
        return None
    radius = living_radius(book, find.animal.species)
    if radius is None:
        return None
    try:
        se = se_of_look(find.animal.species, find.looked)
    except LookupError:
        return None
    culture = BOAR["culture"]
    if find.outcome == "negative" and culture.found_after and culture.infected_after:
        se = max(se, culture.found_after / culture.infected_after)
    return se, radius
