"""Finds as evidence: which count as a look, how good a look it was, and which are positive.

Law: a suspect that waits for its result is not a clean animal, and its zone has no probability
until the result is known. What cannot be counted (no place, no day, a species without a published
figure) is left out and named as left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

import numpy as np
from msgspec import Struct

from bot.evidence.grid import CellGrid
from bot.evidence.lesions import BOAR, Looked, looked_at, se_of_look
from bot.evidence.sentences import Book
from bot.evidence.zones import Looks
from bot.reading.values import Animal, Place, When
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


def find_of(code: str, state: str, outcome: str, conversation: Conversation) -> Find | None:
    """A kept find with its place, day and animal, or None where one of them is missing."""
    values = {q: a.value for q, a in conversation.answers.items() if not a.declined}
    place, when, animal = (values.get(q) for q in ("kill_place", "when", "species"))
    if not (isinstance(place, Place) and isinstance(when, When) and isinstance(animal, Animal)):
        return None
    seen = values.get("seen")
    looked = looked_at(seen.checked) if isinstance(seen, Seen) else Looked()
    return Find(
        code=code,
        lat=place.lat,
        lon=place.lon,
        when=when,
        animal=animal,
        state=state,
        outcome=outcome,
        looked=looked if looked != Looked() else VAGUE,
    )


def sort_finds(book: Book, finds: Iterable[Find]) -> Sorted:
    """What each find counts as; a look carries its sensitivity and its species' radius in km."""
    looks, positives, pending, left_out = [], [], [], []
    for find in finds:
        if find.outcome == "positive":
            positives.append(find)
        elif find.state == "suspect" and find.outcome != "negative":
            pending.append(find)
        elif quality := _quality(book, find):
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
    """The looks as arrays, an animal a row; their month is that of the earliest day of death.

    Several animals that looked clean count as so many; where a laboratory has spoken, it had one.
    """
    times = [f.animal.count if f.state == "clean" and not f.outcome else 1 for f, _, _ in looks]
    rows = [
        (find.lat, find.lon, se, radius, months_from(first, find.when.earliest, zone))
        for find, se, radius in looks
    ]
    table = np.repeat(np.array(rows, dtype=np.float64).reshape(-1, 5), times, axis=0)
    x, y = grid.to_km(table[:, 0], table[:, 1])
    return Looks(x, y, table[:, 2], table[:, 3], table[:, 4].astype(np.intp))


def _quality(book: Book, find: Find) -> tuple[float, float] | None:
    """(sensitivity of the look, radius in km), or None where the find is no look at all.

    A negative culture is better than any look by eye; an animal found dead was not looked at.
    """
    radius = living_radius(book, find.animal.species)
    if radius is None or (find.state == "found_dead" and find.outcome != "negative"):
        return None
    try:
        se = se_of_look(find.animal.species, find.looked)
    except LookupError:
        return None
    culture = BOAR["culture"]
    if find.outcome == "negative" and culture.found_after and culture.infected_after:
        se = max(se, culture.found_after / culture.infected_after)
    return se, radius
