"""Finds as evidence: which count as a look, how good a look it was, and which are positive.

Law: a suspect that waits for its result is not a clean animal, and its zone has no probability
until the result is known. What cannot be counted (no place, no day, a species without a published
figure) is left out and named as left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import numpy as np

from bot.evidence.columns import Find, Finds, Kind, Rows
from bot.evidence.figures import Array
from bot.evidence.grid import CellGrid
from bot.evidence.lesions import BOAR, se_of_look
from bot.evidence.months import Looks
from bot.evidence.sentences import Book


@dataclass(frozen=True)
class Sorted:
    """Finds by what they are. `looks` are rows of `finds`, each with the sensitivity of the look
    and its species' radius in km; `left_out` are the codes of those that say nothing here."""

    finds: Finds
    looks: Rows
    se: Array
    radius_km: Array
    positives: tuple[Find, ...]
    pending: tuple[Find, ...]
    left_out: tuple[str, ...]

    def first(self, otherwise: datetime) -> datetime:
        """The earliest death that an account must reach back to."""
        looked = self.finds.earliest[self.looks].min(initial=otherwise.timestamp())
        found = min((f.when.earliest.timestamp() for f in self.positives), default=looked)
        return datetime.fromtimestamp(min(looked, found), otherwise.tzinfo)


def sort_finds(book: Book, finds: Finds) -> Sorted:
    """What each find counts as; decided once for each kind of them."""
    placed = finds.placed
    parts = [_part(book, kind) for kind in finds.kinds]
    part = finds.of_kind(parts)

    def rows(name: str) -> Rows:
        return np.flatnonzero(placed & (part == name))

    looks = rows("look")
    quality = [_quality(book, kind) or (np.nan, np.nan) for kind in finds.kinds]
    of_kind = np.array(quality).reshape(-1, 2)[finds.kind[looks]]
    return Sorted(
        finds=finds,
        looks=looks,
        se=of_kind[:, 0],
        radius_km=of_kind[:, 1],
        positives=tuple(map(finds.find, rows("positive"))),
        pending=tuple(map(finds.find, rows("pending"))),
        left_out=tuple(finds.codes[n] for n in rows("left_out")),
    )


def _part(book: Book, kind: Kind) -> str:
    if kind.outcome == "positive":
        return "positive"
    if kind.state == "suspect" and kind.outcome != "negative":
        return "pending"
    return "look" if _quality(book, kind) else "left_out"


def living_radius(book: Book, species: str) -> float | None:
    """The radius of a species' life in km: the smallest published one, since a larger one would
    claim to have covered more; None where there is none."""
    keys = book.several.get(species, [species])
    return min((r.km for r in book.ranges if r.kind == "life" and r.species in keys), default=None)


def months_from(first: datetime, moment: datetime, zone: tzinfo) -> int:
    """Calendar months of the local clock from `first` to `moment`."""
    a, b = first.astimezone(zone), moment.astimezone(zone)
    return (b.year - a.year) * 12 + b.month - a.month


def looks_of(grid: CellGrid, known: Sorted, first: datetime, zone: tzinfo) -> Looks:
    """The looks as arrays, an animal a row; their month is that of the earliest day of death."""
    finds, rows = known.finds, known.looks
    died = finds.earliest[rows]
    month = np.searchsorted(_month_starts(first, died, zone), died, side="right") - 1
    x, y = grid.to_km(finds.lat[rows], finds.lon[rows])
    times = finds.animals[rows]
    every = np.repeat(np.arange(len(rows)), times)
    return Looks(x[every], y[every], known.se[every], known.radius_km[every], month[every])


def _month_starts(first: datetime, moments: Array, zone: tzinfo) -> Array:
    """The instants, as POSIX seconds, at which local months begin: from that of `first` to that
    of the last moment."""
    at = first.astimezone(zone).replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    starts, last = [at.timestamp()], moments.max(initial=0.0)
    while starts[-1] <= last:
        at = (at + timedelta(days=32)).replace(day=1)
        starts.append(at.timestamp())
    return np.array(starts)


def _quality(book: Book, kind: Kind) -> tuple[float, float] | None:
    """(sensitivity of the look, radius in km), or None where such a find is no look at all.

    A negative culture is better than any look by eye; an animal found dead was not looked at.
    """
    if kind.state == "found_dead" and kind.outcome != "negative":
        return None
    radius = living_radius(book, kind.species or "")
    if radius is None or kind.species is None:
        return None
    try:
        se = se_of_look(kind.species, kind.looked)
    except LookupError:
        return None
    culture = BOAR["culture"]
    if kind.outcome == "negative" and culture.found_after and culture.infected_after:
        se = max(se, culture.found_after / culture.infected_after)
    return se, radius
