"""The account of a whole programme: its finds, its zones, what is told of each.

A probability is given for a zone only while nothing positive and no open suspect stands in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
import shapely
from msgspec import Struct

from bot.evidence.ageing import Age
from bot.evidence.columns import Find, Finds, Rows
from bot.evidence.finds import Sorted, looks_of, months_from, sort_finds
from bot.evidence.grid import CellGrid, ZoneCells, grid_over, zone_cells
from bot.evidence.months import Seen
from bot.evidence.sentences import Book, tell_window, tell_zone
from bot.evidence.spatial import Coverage
from bot.evidence.window import Band, Window, distance_band, infection_window
from bot.evidence.zones import Assumptions, ZoneResult, evidence_after, withheld
from bot.programme import Programme
from bot.reading.values import When


class Positive(Struct, frozen=True):
    """One confirmed animal: when and how near it was infected, and the words for it."""

    code: str
    zone: str
    window: Window
    band: Band
    sentences: tuple[str, ...]


class ZoneAccount(Struct, frozen=True):
    """What is known of one zone until a moment. `months` of `result` begin with `first_month`."""

    result: ZoneResult
    until: datetime
    first_month: str
    cell_km: float
    positives: tuple[Positive, ...]
    left_out: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Groundwork:
    """What does not change from one survey to the next: the cells of a programme, and what its
    months were seen to be. `frame` names what it holds for."""

    frame: tuple[str, float]
    grid: CellGrid
    zones: ZoneCells
    seen: Seen


@dataclass(frozen=True)
class Survey:
    """Every zone's account in zone order, with what it was reckoned from: the coverage of the
    cells, and the finds by what they count as. The next survey may begin with `ground`."""

    accounts: tuple[ZoneAccount, ...]
    coverage: Coverage
    known: Sorted
    ground: Groundwork


def account_of(
    programme: Programme,
    book: Book,
    finds: Finds,
    until: datetime,
    *,
    ages: Mapping[str, Age] | None = None,
    assumptions: Assumptions = Assumptions(),  # noqa: B008 - frozen
    cell_km: float = 1.0,
) -> tuple[ZoneAccount, ...]:
    """Every zone's account; as `survey_of`, without what it was reckoned from."""
    survey = survey_of(
        programme, book, finds, until, ages=ages, assumptions=assumptions, cell_km=cell_km
    )
    return survey.accounts


def survey_of(
    programme: Programme,
    book: Book,
    finds: Finds,
    until: datetime,
    *,
    ages: Mapping[str, Age] | None = None,
    assumptions: Assumptions = Assumptions(),  # noqa: B008 - frozen
    cell_km: float = 1.0,
    before: Groundwork | None = None,
) -> Survey:
    """Every zone's account of all finds whose animal died before `until`.

    `ages` by the code of the find; a positive without one has a window that is open. With the
    groundwork of a survey `before`, only what is new is summed; the figures are the same.
    """
    known = sort_finds(book, finds.only(finds.earliest < until.timestamp()))
    first = known.first(until)
    months = months_from(first, until, programme.zone) + 1
    ground = _ground(programme, cell_km, before)
    grid, zones = ground.grid, ground.zones
    confirmed = np.zeros((len(zones.names), months))
    for find in known.positives:
        if name := programme.zone_of(find.lat, find.lon):
            month = months_from(first, find.when.earliest, programme.zone)
            confirmed[zones.names.index(name), month] += 1
    looks = looks_of(grid, known, first, programme.zone)
    results, coverage, seen = evidence_after(
        ground.seen, grid, zones, looks, confirmed, assumptions, _month_number(first, programme)
    )
    waiting = [programme.zone_of(f.lat, f.lon) for f in known.pending]
    positives = [positive_of(programme, book, find, ages or {}) for find in known.positives]
    start = f"{first.astimezone(programme.zone):%Y-%m}"
    frame = (until, start, cell_km)
    accounts = tuple(
        _zone(book, withheld(bare, waiting.count(bare.zone)), frame, positives, known.left_out)
        for bare in results
    )
    return Survey(accounts, coverage, known, replace(ground, seen=seen))


def looks_in(programme: Programme, known: Sorted, zone: str) -> Rows:
    """Which of the looks lie in a zone, and in none that is named before it."""
    lat, lon = (column[known.looks] for column in (known.finds.lat, known.finds.lon))
    left: Rows = np.arange(len(lat))
    mine: Rows
    for one in programme.zones:
        held = np.asarray(shapely.contains_xy(one.shape, lon[left], lat[left]), dtype=bool)
        mine, left = left[held], left[~held]
        if one.name == zone:
            return mine
    return left[:0]


def _ground(programme: Programme, cell_km: float, before: Groundwork | None) -> Groundwork:
    frame = (programme.hash, cell_km)
    if before is not None and before.frame == frame:
        return before
    grid = grid_over(programme.area, cell_km)
    zones = zone_cells(grid, [(z.name, z.shape) for z in programme.zones])
    return Groundwork(frame, grid, zones, {})


def _month_number(moment: datetime, programme: Programme) -> int:
    local = moment.astimezone(programme.zone)
    return local.year * 12 + local.month - 1


def _zone(
    book: Book,
    result: ZoneResult,
    frame: tuple[datetime, str, float],
    positives: Sequence[Positive],
    left_out: tuple[str, ...],
) -> ZoneAccount:
    mine = tuple(p for p in positives if p.zone == result.zone)
    last = max((p.window.death for p in mine), default=None)
    return ZoneAccount(result, *frame, mine, left_out, tell_zone(book, result, last))


def positive_of(programme: Programme, book: Book, find: Find, ages: Mapping[str, Age]) -> Positive:
    """One confirmed animal with its window; without an age the window is open."""
    age = ages.get(find.code)
    earliest, latest = (
        moment.astimezone(programme.zone) for moment in (find.when.earliest, find.when.latest)
    )
    when = When(earliest, latest)
    window = infection_window(when, age)
    sex = book.sexes.get(find.animal.sort, "")
    band = distance_band(book.ranges, book.several, find.animal.species, sex, age)
    zone = programme.zone_of(find.lat, find.lon)
    return Positive(find.code, zone, window, band, tell_window(book, window, band))
