"""A zone's drawings as numbers: a map of coverage, a time axis of windows, a line of probability.

Everything is in drawing units of a box WIDTH wide; templates put them into SVG, with no script and
no tile. Cells are put together until at most MOST_ACROSS stand side by side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from bot.evidence.figures import Array
from bot.evidence.programme_account import Positive, ZoneAccount
from bot.evidence.spatial import Coverage

WIDTH, MARGIN = 640, 14
MOST_ACROSS = 44
FAINTEST = 0.01
RING = 6.0
"""Rings of clean animals are drawn at most one in a square of this side."""
ROW = 26
AXIS_LEFT = 96
LONGEST_AXIS = timedelta(days=365 * 6)
BARS_KM = (1, 2, 5, 10, 20, 50, 100)
PLOT_HEIGHT, PLOT_TOP, PLOT_BOTTOM, PLOT_LEFT = 240, 14, 204, 52


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of the map; `radius` in drawing units, 0 for none; `name` a code or a number."""

    x: float
    y: float
    name: str = ""
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class ZoneMap:
    """The map: squares (x, y, width, height, opacity), outlines as SVG paths, spots, a bar."""

    height: float
    squares: tuple[tuple[float, float, float, float, float], ...]
    outlines: tuple[str, ...]
    looks: tuple[Spot, ...]
    cases: tuple[Spot, ...]
    unseen: tuple[Spot, ...]
    bar: float
    bar_words: str
    places: int = 0
    """How many clean finds there are, before those on top of one another became one ring."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One animal's window: the bar, the part in which lesions may not show, and its name."""

    name: str
    y: float
    x: float
    width: float
    lag_x: float
    lag_width: float
    opened: bool


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """The windows of a zone's positives, and a tick (x, words) for each year or month."""

    height: float
    bars: tuple[Bar, ...]
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class Freedom:
    """The probability by month: a line, its band, ticks (x, words); paths in SVG's terms."""

    line: str
    band: str
    ticks: tuple[tuple[float, str], ...]
    levels: tuple[tuple[float, str], ...]


Point = tuple[float, float]
"""Latitude and longitude in WGS84 degrees."""


def map_of(
    coverage: Coverage,
    zone: int,
    shape: BaseGeometry,
    looks: Sequence[Point],
    cases: Iterable[tuple[Point, Positive]],
    unseen: Iterable[Point],
) -> ZoneMap:
    """The map of one zone; points outside its frame are left out."""
    grid = coverage.grid
    rows, columns = np.nonzero(coverage.zones.labels == zone)
    if not len(rows):
        return ZoneMap(40, (), (), (), (), (), 0, "")
    low, left = rows.min(), columns.min()
    across, up = columns.max() - left + 1, rows.max() - low + 1
    block = max(1, math.ceil(across / MOST_ACROSS))
    scale = (WIDTH - 2 * MARGIN) / (across * grid.cell_km)
    height = round(up * grid.cell_km * scale + 2 * MARGIN, 1)
    west, south = grid.west + left * grid.cell_km, grid.south + low * grid.cell_km

    def xy(points: Sequence[Point]) -> list[tuple[float, float]]:
        lat, lon = np.array(points, dtype=np.float64).reshape(-1, 2).T
        x, y = grid.to_km(lat, lon)
        right, down = MARGIN + (x - west) * scale, height - MARGIN - (y - south) * scale
        return list(zip(right.round(1).tolist(), down.round(1).tolist(), strict=True))

    def spots(points: Sequence[tuple[Point, str, float]]) -> tuple[Spot, ...]:
        at = xy([point for point, _, _ in points])
        found = (
            Spot(*one, name, round(km * scale, 1))
            for one, (_, name, km) in zip(at, points, strict=True)
        )
        return tuple(s for s in found if 0 <= s.x <= WIDTH and 0 <= s.y <= height)

    unit = np.where(coverage.zones.labels == zone, coverage.unit, 0.0)
    bar_km = max((km for km in BARS_KM if km * scale <= WIDTH / 4), default=BARS_KM[0])
    return ZoneMap(
        height=height,
        squares=tuple(
            _squares(unit[low : low + up, left : left + across], block, grid.cell_km * scale)
        ),
        outlines=tuple(_path(xy([(y, x) for x, y in ring])) for ring in _rings(shape)),
        looks=_apart(spots([(at, "", 0.0) for at in looks])),
        cases=spots([(at, one.code, one.band.near or 0.0) for at, one in cases]),
        unseen=spots([(at, str(n), 0.0) for n, at in enumerate(unseen, 1)]),
        bar=round(bar_km * scale, 1),
        bar_words=f"{bar_km} km",
        places=len(looks),
    )


def _apart(spots: Sequence[Spot]) -> tuple[Spot, ...]:
    """One ring where several would lie on top of one another: the first of them."""
    return tuple({(s.x // RING, s.y // RING): s for s in reversed(spots)}.values())[::-1]


def _squares(
    unit: Array, block: int, side: float
) -> Iterable[tuple[float, float, float, float, float]]:
    """Blocks of cells, each with the mean sensitivity of its cells; those at the northern and
    eastern edge may be smaller. `side` is one cell's in drawing units."""
    rows = unit.shape[0]
    for row in range(0, rows, block):
        for column in range(0, unit.shape[1], block):
            cells = unit[row : row + block, column : column + block]
            mean = float(cells.mean())
            if mean >= FAINTEST:
                x, y = MARGIN + column * side, MARGIN + (rows - row - cells.shape[0]) * side
                size = (cells.shape[1] * side, cells.shape[0] * side)
                x, y, wide, high = (round(n, 1) for n in (x, y, *size))
                yield x, y, wide, high, round(min(1.0, math.sqrt(mean)), 2)


def _rings(shape: BaseGeometry) -> Iterable[Sequence[tuple[float, float]]]:
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    for part in parts:
        if isinstance(part, Polygon):
            yield [(point[0], point[1]) for point in part.exterior.coords]


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + " L".join(f"{x:g} {y:g}" for x, y in points) if points else ""


def axis_of(positives: Sequence[Positive], until: datetime) -> TimeAxis | None:
    """The windows of a zone's positives, the latest death first; None where there is none."""
    if not positives:
        return None
    known = [p.window.start for p in positives if p.window.start]
    last = max(until, *(p.window.death for p in positives))
    first = max(min([*known, last - timedelta(days=365)]), last - LONGEST_AXIS)
    scale = (WIDTH - AXIS_LEFT - MARGIN) / ((last - first) / timedelta(days=1))

    def x(moment: datetime) -> float:
        days = max(moment, first) - first
        return round(AXIS_LEFT + days / timedelta(days=1) * scale, 1)

    bars = []
    for n, one in enumerate(sorted(positives, key=lambda p: p.window.death, reverse=True)):
        window = one.window
        start, end, death = x(window.start or first), x(window.end), x(window.death)
        opened = window.start is None or window.start < first
        width = round(max(2.0, end - start), 1)
        bars.append(
            Bar(one.code, 30 + n * ROW, start, width, end, round(max(0.0, death - end), 1), opened)
        )
    ticks = tuple((x(at), words) for at, words in _ticks(first, last))
    return TimeAxis(44 + len(bars) * ROW, tuple(bars), ticks)


def _ticks(first: datetime, last: datetime) -> Iterable[tuple[datetime, str]]:
    """Months where they have room, quarters or years otherwise."""
    months = (last.year - first.year) * 12 + last.month - first.month
    step = next(s for s in (1, 3, 6, 12) if months <= 8 * s or s == 12)
    at = first.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    while at <= last:
        if at >= first and (at.month - 1) % step == 0:
            yield at, f"{at:%b %Y}"
        at = (at + timedelta(days=32)).replace(day=1)


def months_of(account: ZoneAccount) -> tuple[str, ...]:
    """The months of an account, each like 2026-11."""
    year, month = map(int, account.first_month.split("-"))
    count = len(account.result.months)
    return tuple(
        f"{year + (month - 1 + n) // 12}-{(month - 1 + n) % 12 + 1:02d}" for n in range(count)
    )


def freedom_of(account: ZoneAccount) -> Freedom | None:
    """The line by month; None for a zone that has no probability in any month."""
    known = [(n, m.pfree) for n, m in enumerate(account.result.months) if m.pfree is not None]
    if account.result.confirmed or not known:
        return None
    count = len(account.result.months)
    step = (WIDTH - PLOT_LEFT - MARGIN) / max(1, count - 1)

    def xy(n: int, value: float) -> tuple[float, float]:
        y = PLOT_BOTTOM - value * (PLOT_BOTTOM - PLOT_TOP)
        return round(PLOT_LEFT + n * step, 1), round(y, 1)

    line = [xy(n, value) for n, value in known]
    if len(line) == 1:
        line.append((line[0][0] + 12, line[0][1]))
    band = [(n, low, high) for n, (low, high) in enumerate(account.result.band) if low is not None]
    edge = [xy(n, high) for n, _, high in band if high is not None]
    edge += [xy(n, low) for n, low, _ in reversed(band)]
    every = max(1, math.ceil(count / 8))
    names = months_of(account)
    return Freedom(
        line=_path(line),
        band=_path(edge) + " Z" if len(band) > 1 else "",
        ticks=tuple((xy(n, 0)[0], names[n]) for n in range(0, count, every)),
        levels=tuple((xy(0, v)[1], f"{v:.0%}".replace("%", " %")) for v in (0, 0.25, 0.5, 0.75, 1)),
    )
