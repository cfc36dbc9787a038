"""Square cells over a programme's area, and which zone each belongs to.

Kilometres east and north on a transverse Mercator plane through the middle of the area: true to
about one part in 8,000 at 100 km from the middle, far finer than what is known of a range.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from pyproj import Transformer
from shapely.geometry.base import BaseGeometry

from bot.evidence.figures import Array, FigureError

MOST_CELLS = 4_000_000
"""More cells than this are a mistake in the cell's size rather than an area."""
NO_ZONE = -1


@dataclass(frozen=True)
class CellGrid:
    """`rows` x `columns` cells of `cell_km`; row 0 is the southernmost, column 0 the westernmost.

    `west` and `south` are the outer edges in km from (lat0, lon0), in WGS84 degrees.
    """

    lat0: float
    lon0: float
    west: float
    south: float
    rows: int
    columns: int
    cell_km: float = 1.0

    @cached_property
    def x(self) -> Array:
        """Centres of the columns, km east: (columns,)."""
        return self.west + (np.arange(self.columns, dtype=np.float64) + 0.5) * self.cell_km

    @cached_property
    def y(self) -> Array:
        """Centres of the rows, km north: (rows,)."""
        return self.south + (np.arange(self.rows, dtype=np.float64) + 0.5) * self.cell_km

    def to_km(self, lat: ArrayLike, lon: ArrayLike) -> tuple[Array, Array]:
        """WGS84 degrees -> km east and north."""
        east, north = _plane(self.lat0, self.lon0).transform(np.asarray(lon), np.asarray(lat))
        return np.asarray(east) / 1000.0, np.asarray(north) / 1000.0

    def to_degrees(self, x: ArrayLike, y: ArrayLike) -> tuple[Array, Array]:
        """km east and north -> WGS84 latitudes and longitudes."""
        lon, lat = _plane(self.lat0, self.lon0).transform(
            np.asarray(x) * 1000.0, np.asarray(y) * 1000.0, direction="INVERSE"
        )
        return np.asarray(lat), np.asarray(lon)


@dataclass(frozen=True)
class ZoneCells:
    """The zones on a grid: `labels` (rows, columns) holds each cell's zone number or NO_ZONE."""

    names: tuple[str, ...]
    labels: NDArray[np.intp]

    @cached_property
    def sizes(self) -> Array:
        """Cells of each zone: (zones,)."""
        return self.sums(np.ones(self.labels.shape))

    def sums(self, values: Array) -> Array:
        """The sum of a (rows, columns) field over each zone: (zones,)."""
        sums = np.bincount(self.labels.ravel() + 1, values.ravel(), len(self.names) + 1)
        return np.asarray(sums[1:], dtype=np.float64)


def grid_over(area: BaseGeometry, cell_km: float = 1.0) -> CellGrid:
    """The smallest grid that covers an area given in WGS84 degrees."""
    if cell_km <= 0:
        raise FigureError(f"cell_km: {cell_km:g} is not more than 0")
    west, south, east, north = area.bounds
    lat0, lon0 = (south + north) / 2.0, (west + east) / 2.0
    edge = np.linspace(0.0, 1.0, 33)
    lon = np.concatenate([west + (east - west) * edge] * 2 + [np.full(33, west), np.full(33, east)])
    lat = np.concatenate(
        [np.full(33, south), np.full(33, north)] + [south + (north - south) * edge] * 2
    )
    x, y = CellGrid(lat0, lon0, 0.0, 0.0, 0, 0).to_km(lat, lon)
    columns = int(np.ceil((x.max() - x.min()) / cell_km))
    rows = int(np.ceil((y.max() - y.min()) / cell_km))
    if rows * columns > MOST_CELLS:
        raise FigureError(f"cell_km: {cell_km:g} makes {rows} x {columns} cells")
    return CellGrid(lat0, lon0, float(x.min()), float(y.min()), rows, columns, cell_km)


def zone_cells(grid: CellGrid, zones: Sequence[tuple[str, BaseGeometry]]) -> ZoneCells:
    """Each cell belongs to the first zone that holds its centre, as a find does."""
    x, y = np.meshgrid(grid.x, grid.y)
    lat, lon = grid.to_degrees(x, y)
    labels = np.full((grid.rows, grid.columns), NO_ZONE, dtype=np.intp)
    for number, (_, outline) in enumerate(zones):
        shapely.prepare(outline)
        west, south, east, north = outline.bounds
        near = (lon >= west) & (lon <= east) & (lat >= south) & (lat <= north)
        mine = np.flatnonzero((labels == NO_ZONE) & near)
        held = shapely.contains_xy(outline, lon.ravel()[mine], lat.ravel()[mine])
        labels.ravel()[mine[held]] = number
    return ZoneCells(tuple(name for name, _ in zones), labels)


def zone_at(grid: CellGrid, zones: ZoneCells, x: Array, y: Array) -> NDArray[np.intp]:
    """The zone number of the cell at each point in km, NO_ZONE off the grid."""
    column = np.floor((x - grid.west) / grid.cell_km).astype(np.intp)
    row = np.floor((y - grid.south) / grid.cell_km).astype(np.intp)
    inside = (column >= 0) & (column < grid.columns) & (row >= 0) & (row < grid.rows)
    found = np.full(np.shape(x), NO_ZONE, dtype=np.intp)
    found[inside] = zones.labels[row[inside], column[inside]]
    return found


@lru_cache(maxsize=32)
def _plane(lat0: float, lon0: float) -> Transformer:
    plane = f"+proj=tmerc +lat_0={lat0!r} +lon_0={lon0!r} +ellps=WGS84 +units=m"
    return Transformer.from_crs("EPSG:4326", plane, always_xy=True)
