"""What was covered in each month, by itself: so that one find more changes one month and no other.

Law: what was summed before is only ever a saving. A month is taken over where its animals are the
very same, gets a few more where those come after them, and is summed anew otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.evidence.figures import Array
from bot.evidence.grid import CellGrid, ZoneCells
from bot.evidence.spatial import Coverage, Kernels, add, cover_scaled, coverage_of, kernels

MOST_ADDED = 64
"""So many animals more are added one by one; beyond it a month is summed anew."""
MOST_KEPT = 400_000_000
"""Bytes of cells that may be kept from one account to the next."""


@dataclass(frozen=True)
class Looks:
    """Clean animals, all (n,): km east and north, sensitivity of the look, 95 % radius in km,
    and the month of death as 0, 1 ... since the first month of the account."""

    x: Array
    y: Array
    se: Array
    radius_95_km: Array
    month: NDArray[np.intp]


class Covering(NamedTuple):
    """What decides what an animal covers: factors of its radius, its chance, and of its look."""

    reach: float
    catch: float
    se: float = 1.0


@dataclass(frozen=True)
class MonthSeen:
    """The coverage of one month's animals, with those animals."""

    animals: Kernels
    coverage: Coverage


Seen = Mapping[tuple[Covering, int], MonthSeen]
"""Months that were summed on one grid; their numbers count from a month that never moves."""


def months_seen(
    seen: Seen,
    grid: CellGrid,
    zones: ZoneCells,
    looks: Looks,
    count: int,
    coverings: Iterable[Covering],
    first_month: int = 0,
) -> dict[Covering, tuple[MonthSeen, ...]]:
    """The coverage of each month under each covering; `first_month` is the number of month 0 in
    `seen`. Coverings that differ in nothing but the chance are summed in one pass."""
    found: dict[Covering, tuple[MonthSeen, ...]] = {}
    for _, group in groupby(sorted(set(coverings)), key=lambda c: (c.reach, c.se)):
        alike = tuple(group)
        animals = _animals(looks, alike[0])
        months = [
            _month(seen, grid, zones, animals.only(looks.month == n), alike, first_month + n)
            for n in range(count)
        ]
        found.update(zip(alike, zip(*months, strict=True), strict=True))
    return found


def _animals(looks: Looks, covering: Covering) -> Kernels:
    """What they cover where an animal surely catches what it meets."""
    p = np.minimum(1.0, looks.se * covering.se)
    return kernels(looks.x, looks.y, p, looks.radius_95_km * covering.reach)


def together(
    grid: CellGrid, zones: ZoneCells, months: Sequence[MonthSeen]
) -> tuple[Array, Coverage]:
    """Mean SeU of each zone by month (zones, months), and the coverage of all months."""
    log_miss = np.zeros((grid.rows, grid.columns))
    for month in months:
        log_miss += month.coverage.log_miss
    means = np.stack([month.coverage.mean for month in months], axis=1)
    return means, coverage_of(grid, zones, log_miss)


def to_keep(grid: CellGrid, before: Seen, now: Seen) -> Seen:
    """What the next account may begin with: the months of this one and of those before it, or of
    this one alone, or nothing, as there is room."""
    room = MOST_KEPT // (8 * grid.rows * grid.columns)
    both = {**before, **now}
    return both if len(both) <= room else now if len(now) <= room else {}


def _month(
    seen: Seen,
    grid: CellGrid,
    zones: ZoneCells,
    animals: Kernels,
    alike: tuple[Covering, ...],
    number: int,
) -> tuple[MonthSeen, ...]:
    """One month under each of some coverings that differ in the chance alone."""
    own = {c: animals.scaled(c.catch) for c in alike}
    kept = {c: _carried_on(seen.get((c, number)), own[c]) for c in alike}
    anew = [c.catch for c in alike if kept[c] is None]
    summed = iter(cover_scaled(grid, zones, animals, anew) if anew else ())
    return tuple(kept[c] or MonthSeen(own[c], next(summed)) for c in alike)


def _carried_on(before: MonthSeen | None, animals: Kernels) -> MonthSeen | None:
    """The month as it was summed before with the few animals that came to it, or None."""
    if before is None or not animals.begins_with(before.animals):
        return None
    more = range(len(before.animals.x), len(animals.x))
    if len(more) > MOST_ADDED:
        return None
    coverage = before.coverage
    for n in more:
        coverage, _ = add(coverage, animals.only(np.array([n])))
    return MonthSeen(animals, coverage) if more else before
