"""A zone's map as numbers: how well each part was looked at, clean animals, confirmed ones.

In drawing units of a box WIDTH wide, with no tile. Cells are put together until at most
MOST_ACROSS stand side by side. A young positive is drawn otherwise than one that is old or of
unknown age: what it says of here and now is more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from bot.evidence.figures import Array
from bot.evidence.grid import CellGrid
from bot.evidence.programme_account import Positive
from bot.evidence.spatial import Coverage
from bot.web.zone_drawing import MARGIN, WIDTH, path_of

MOST_ACROSS = 44
FAINTEST = 0.01
RING = 6.0
"""Rings of clean animals are drawn at most one in a square of this side."""
BARS_KM = (1, 2, 5, 10, 20, 50, 100)

Point = tuple[float, float]
"""Latitude and longitude in WGS84 degrees."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of the map; `name` is a number or nothing."""

    x: float
    y: float
    name: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    """A confirmed animal under its code: `near` is the radius within which it most likely spent
    its life, `wide` how far it may have come where that is farther; 0 for none."""

    x: float
    y: float
    name: str
    near: float
    wide: float
    young: bool


@dataclass(frozen=True, slots=True)
class ZoneMap:
    """The map: squares (x, y, width, height, opacity), outlines as points, spots, a bar."""

    height: float
    squares: tuple[tuple[float, float, float, float, float], ...] = ()
    rings: tuple[tuple[Point, ...], ...] = ()
    looks: tuple[Spot, ...] = ()
    cases: tuple[Case, ...] = ()
    unseen: tuple[Spot, ...] = ()
    bar: float = 0.0
    bar_words: str = ""
    places: int = 0
    """How many clean finds there are, before those on top of one another became one ring."""

    @property
    def outlines(self) -> tuple[str, ...]:
        """The outlines as SVG paths."""
        return tuple(map(path_of, self.rings))


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a zone's cells lie on the grid, and how kilometres become drawing units."""

    grid: CellGrid
    low: int
    left: int
    up: int
    across: int

    @property
    def scale(self) -> float:
        return (WIDTH - 2 * MARGIN) / (self.across * self.grid.cell_km)

    @property
    def height(self) -> float:
        return round(self.up * self.grid.cell_km * self.scale + 2 * MARGIN, 1)

    def xy(self, points: Sequence[Point]) -> list[Point]:
        """WGS84 degrees -> drawing units."""
        grid, scale = self.grid, self.scale
        west = grid.west + self.left * grid.cell_km
        south = grid.south + self.low * grid.cell_km
        lat, lon = np.array(points, dtype=np.float64).reshape(-1, 2).T
        x, y = grid.to_km(lat, lon)
        right, down = MARGIN + (x - west) * scale, self.height - MARGIN - (y - south) * scale
        return list(zip(right.round(1).tolist(), down.round(1).tolist(), strict=True))

    def holds(self, at: Point) -> bool:
        return 0 <= at[0] <= WIDTH and 0 <= at[1] <= self.height


def map_of(
    coverage: Coverage,
    zone: int,
    shape: BaseGeometry,
    looks: Sequence[Point],
    cases: Sequence[tuple[Point, Positive]],
    unseen: Sequence[Point],
) -> ZoneMap:
    """The map of one zone; points outside its frame are left out."""
    frame = _frame_of(coverage, zone)
    if frame is None:
        return ZoneMap(40)
    bar_km = max((km for km in BARS_KM if km * frame.scale <= WIDTH / 4), default=BARS_KM[0])
    here = enumerate(frame.xy(unseen), 1)
    return ZoneMap(
        height=frame.height,
        squares=tuple(_squares(frame, coverage, zone)),
        rings=tuple(tuple(frame.xy([(y, x) for x, y in ring])) for ring in _rings(shape)),
        looks=_apart([Spot(*at) for at in frame.xy(looks) if frame.holds(at)]),
        cases=tuple(_cases(frame, cases)),
        unseen=tuple(Spot(*at, str(n)) for n, at in here if frame.holds(at)),
        bar=round(bar_km * frame.scale, 1),
        bar_words=f"{bar_km} km",
        places=len(looks),
    )


def _frame_of(coverage: Coverage, zone: int) -> _Frame | None:
    rows, columns = np.nonzero(coverage.zones.labels == zone)
    if not len(rows):
        return None
    low, left = int(rows.min()), int(columns.min())
    return _Frame(
        coverage.grid, low, left, int(rows.max()) - low + 1, int(columns.max()) - left + 1
    )


def _cases(frame: _Frame, cases: Sequence[tuple[Point, Positive]]) -> Iterable[Case]:
    for at, (_, one) in zip(frame.xy([point for point, _ in cases]), cases, strict=True):
        near, wide = one.band.near or 0.0, one.band.wide or 0.0
        if frame.holds(at):
            yield Case(
                *at,
                name=one.code,
                near=round(near * frame.scale, 1),
                wide=round(wide * frame.scale, 1) if wide > near else 0.0,
                young=one.window.kind == "young",
            )


def _apart(spots: Sequence[Spot]) -> tuple[Spot, ...]:
    """One ring where several would lie on top of one another: the first of them."""
    return tuple({(s.x // RING, s.y // RING): s for s in reversed(spots)}.values())[::-1]


def _squares(
    frame: _Frame, coverage: Coverage, zone: int
) -> Iterable[tuple[float, float, float, float, float]]:
    """Blocks of cells, each with the mean sensitivity of its cells; those at the northern and
    eastern edge may be smaller."""
    window = (
        slice(frame.low, frame.low + frame.up),
        slice(frame.left, frame.left + frame.across),
    )
    unit: Array = np.where(coverage.zones.labels == zone, coverage.unit, 0.0)[window]
    block, side = max(1, math.ceil(frame.across / MOST_ACROSS)), frame.grid.cell_km * frame.scale
    for row in range(0, frame.up, block):
        for column in range(0, frame.across, block):
            cells = unit[row : row + block, column : column + block]
            mean = float(cells.mean())
            if mean >= FAINTEST:
                x = MARGIN + column * side
                y = MARGIN + (frame.up - row - cells.shape[0]) * side
                size = (cells.shape[1] * side, cells.shape[0] * side)
                x, y, wide, high = (round(n, 1) for n in (x, y, *size))
                yield x, y, wide, high, round(min(1.0, math.sqrt(mean)), 2)


def _rings(shape: BaseGeometry) -> Iterable[Sequence[Point]]:
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    for part in parts:
        if isinstance(part, Polygon):
            yield [(point[0], point[1]) for point in part.exterior.coords]
