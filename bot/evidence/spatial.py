"""Clean animals -> how well each cell has been looked at -> the sensitivity of each zone.

A clean animal at distance d would have shown a disease in a cell with the chance
p exp(-d^2 / 2 sigma^2): a half-normal kernel, as is usual for home ranges (form from general
knowledge; Anderson et al. 2013, Epidemiol Infect 141:1509-1521, use such a one). Then

    cell:  SeU = 1 - prod over animals of (1 - p exp(-d^2 / 2 sigma^2))
    zone:  SSe = 1 - (1 - mean SeU)^(P* N),   N cells, P* N of them infected, at least one

The power of the mean is an upper bound of what may be missed when the infected cells lie at random
(Maclaurin's inequality), which is the careful side; a little of that care is lost again, since the
product counts a look for each infected cell and an animal is looked at once. The two about cancel
(tests/bench/calibration.py). When infected cells lie in clusters the figure is too high, and over
months when only some corner is ever looked at. Ranges from long tracking overstate what one animal
covers (Yockney et al. 2013).

The product is summed as logarithms. -log(1 - u) is a polynomial in u to within 1e-5, and every
power of the kernel is a product of a factor in x and a factor in y: so a tile's animals act on its
cells by matrix products, and nothing is binned.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial
from numpy.typing import ArrayLike, NDArray

from bot.evidence.figures import Array, between, positive_share, share
from bot.evidence.grid import CellGrid, ZoneCells

RADIUS_95 = float(np.sqrt(-2.0 * np.log(0.05)))
"""95 % of a half-normal kernel lies within 2.44775 sigma."""
REACH = 4.5
"""Kernels are cut off here, in sigma: 4e-5 of their weight lies beyond."""
TILES = (10, 40)
"""Least and most cells along a tile's side: small tiles waste less, large ones have company."""
COMPANY = 80
"""Animals in a tile, on average, for which its side is chosen."""
ONE_THREAD = 250_000
"""Multiplications in one matrix product; OpenBLAS takes more threads from 262,144 on."""
MOST_FOR_SERIES = 0.9
"""Beyond this chance the polynomial would need too many terms; such animals are summed exactly."""
TOLERANCE = 1e-5
MOST_TERMS = 16


@dataclass(frozen=True)
class Kernels:
    """What n clean animals cover, all (n,): km east, km north, chance at the centre, sigma (km)."""

    x: Array
    y: Array
    p: Array
    sigma: Array

    def only(self, which: NDArray[np.bool_ | np.intp] | slice) -> Kernels:
        """Some of them."""
        return Kernels(self.x[which], self.y[which], self.p[which], self.sigma[which])

    def scaled(self, scale: float) -> Kernels:
        """The same animals, each chance multiplied."""
        return replace(self, p=self.p * scale)

    def begins_with(self, first: Kernels) -> bool:
        """Whether those come first here, exactly as they are."""
        n = len(first.x)
        pairs = ((self.x, first.x), (self.y, first.y), (self.p, first.p), (self.sigma, first.sigma))
        return len(self.x) >= n and all(np.array_equal(own[:n], its) for own, its in pairs)


@dataclass(frozen=True)
class Coverage:
    """How well an area has been looked at. `log_miss` (rows, columns) is log(1 - SeU), and
    `seen` (zones,) is the sum of SeU over each zone's cells."""

    grid: CellGrid
    zones: ZoneCells
    log_miss: Array
    seen: Array

    @property
    def unit(self) -> Array:
        """SeU of each cell: (rows, columns)."""
        return np.asarray(-np.expm1(self.log_miss))

    @property
    def mean(self) -> Array:
        """Mean SeU of each zone, NaN for a zone without a cell: (zones,)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(self.seen / self.zones.sizes)


def sigma_of(radius_95_km: ArrayLike) -> Array:
    """The kernel's sigma from the radius that holds 95 % of positions: 6 km -> 2.4512 km."""
    return np.asarray(between("radius_95_km", radius_95_km, 1e-3, np.inf) / RADIUS_95)


def kernels(x: ArrayLike, y: ArrayLike, p: ArrayLike, radius_95_km: ArrayLike) -> Kernels:
    """Animals at km east and north; p and radius broadcast over them."""
    parts = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(v, dtype=np.float64)) for v in (x, y)),
        share("p", p),
        sigma_of(radius_95_km),
    )
    return Kernels(*(np.ascontiguousarray(part) for part in parts))


def cover(grid: CellGrid, zones: ZoneCells, animals: Kernels) -> Coverage:
    """The coverage of all these animals, in one pass."""
    (found,) = cover_scaled(grid, zones, animals, (1.0,))
    return found


def cover_scaled(
    grid: CellGrid, zones: ZoneCells, animals: Kernels, scales: Sequence[float]
) -> tuple[Coverage, ...]:
    """The coverage once for each scale, every animal's chance multiplied by it, in one pass.

    The kernels and the sums of their powers are the same for all scales: only the polynomial's
    weights differ.
    """
    log_miss = np.zeros((len(scales), grid.rows, grid.columns))
    for sigma in np.unique(animals.sigma):
        same = animals.only(animals.sigma == sigma)
        steep = same.p * max(scales, default=0.0) > MOST_FOR_SERIES
        for (rows, columns), tile in _tiles(grid, same.only(~steep), float(sigma)):
            log_miss[:, rows, columns] -= _by_series(grid, (rows, columns), tile, scales)
        for window, tile in _tiles(grid, same.only(steep), float(sigma)):
            for scale, missed in zip(scales, log_miss, strict=True):
                missed[window] += _exactly(grid, window, tile.scaled(scale))
    return tuple(coverage_of(grid, zones, missed) for missed in log_miss)


def coverage_of(grid: CellGrid, zones: ZoneCells, log_miss: Array) -> Coverage:
    """The coverage that log(1 - SeU) of each cell makes; those of several months add up."""
    return Coverage(grid, zones, log_miss, zones.sums(-np.expm1(log_miss)))


def add(coverage: Coverage, animal: Kernels) -> tuple[Coverage, tuple[int, ...]]:
    """The coverage with one animal more, and the numbers of the zones that it touched.

    Only the cells within its reach are computed; all other sums stand as they were.
    """
    log_miss, seen = coverage.log_miss.copy(), coverage.seen.copy()
    touched: set[int] = set()
    for window, tile in _tiles(coverage.grid, animal, float(animal.sigma[0]), tile_cells=1):
        before = -np.expm1(log_miss[window])
        log_miss[window] += _exactly(coverage.grid, window, tile)
        gained = -np.expm1(log_miss[window]) - before
        labels = coverage.zones.labels[window]
        np.add.at(seen, labels[labels >= 0], gained[labels >= 0])
        touched |= set(np.unique(labels[labels >= 0]).tolist())
    return replace(coverage, log_miss=log_miss, seen=seen), tuple(sorted(touched))


def zone_sensitivity(mean: ArrayLike, cells: ArrayLike, pstar: ArrayLike) -> Array:
    """SSe = 1 - (1 - mean SeU)^max(1, P* N), from mean SeU and N cells; NaN without a cell."""
    infected = np.maximum(1.0, positive_share("pstar", pstar) * np.asarray(cells))
    return np.asarray(1.0 - (1.0 - share("mean", mean)) ** infected)


def gain(coverage: Coverage, p: float, radius_95_km: float) -> Array:
    """By how much one more clean animal in each cell would raise its zones' summed SeU.

    (rows, columns). For coordinators only: asking the public for more animals from one place
    invites people to release some there.
    """
    sigma = float(sigma_of(radius_95_km))
    unseen = np.where(coverage.zones.labels >= 0, np.exp(coverage.log_miss), 0.0)
    across, up = (_factor(line, line, sigma) for line in (coverage.grid.x, coverage.grid.y))
    return np.asarray(p * (up @ unseen @ across))


Window = tuple[slice, slice]


def _tiles(
    grid: CellGrid, animals: Kernels, sigma: float, tile_cells: int = 0
) -> Iterator[tuple[Window, Kernels]]:
    """Animals of one sigma, by tile, each with the window of cells that they can reach."""
    if not len(animals.x):
        return
    tile_cells = tile_cells or _tile_side(grid, len(animals.x))
    side, halo = tile_cells * grid.cell_km, int(np.ceil(REACH * sigma / grid.cell_km))
    row = np.floor((animals.y - grid.south) / side).astype(np.intp)
    column = np.floor((animals.x - grid.west) / side).astype(np.intp)
    order = np.lexsort((column, row))
    row, column, animals = row[order], column[order], animals.only(order)
    breaks = np.flatnonzero(np.diff(row) | np.diff(column)) + 1
    for first, end in pairwise((0, *breaks.tolist(), len(order))):
        rows = _reach(int(row[first]), tile_cells, halo, grid.rows)
        columns = _reach(int(column[first]), tile_cells, halo, grid.columns)
        if rows.start < rows.stop and columns.start < columns.stop:
            yield (rows, columns), animals.only(slice(first, end))


def _tile_side(grid: CellGrid, animals: int) -> int:
    side = round(float(np.sqrt(COMPANY * grid.rows * grid.columns / animals)))
    return min(max(side, TILES[0]), TILES[1])


def _reach(tile: int, tile_cells: int, halo: int, most: int) -> slice:
    start = min(max(tile * tile_cells - halo, 0), most)
    return slice(start, max(min((tile + 1) * tile_cells + halo, most), start))


def _factor(cells: Array, centres: Array, sigma: float) -> Array:
    """exp(-d^2 / 2 sigma^2) along one axis: (animals, cells)."""
    factor = (cells[None, :] - centres[:, None]) / (np.sqrt(2.0) * sigma)
    factor *= factor
    return np.asarray(np.exp(np.negative(factor, out=factor), out=factor))


def _by_series(grid: CellGrid, window: Window, animals: Kernels, scales: Sequence[float]) -> Array:
    """sum over animals of -log(1 - scale p kernel) on a window of cells, for each scale:
    (scales, rows, columns), by matrix products. The animals share one sigma.

    The products are kept so small that the linear algebra library runs each on one thread: on a
    busy machine its threads wait for one another far longer than they work.
    """
    sigma = float(animals.sigma[0])
    weights = _weights(round(float(animals.p.max()) + 0.005, 2), tuple(scales))
    terms = weights.shape[1]
    up = _factor(grid.y[window[0]], animals.y, sigma) * animals.p[:, None]
    across = _factor(grid.x[window[1]], animals.x, sigma)
    sums = np.zeros((terms, up.shape[1], across.shape[1]))
    piece = max(1, ONE_THREAD // sums[0].size)
    for start in range(0, len(up), piece):
        part = slice(start, start + piece)
        sums += _powers(up[part], terms).transpose(0, 2, 1) @ _powers(across[part], terms)
    return np.asarray((weights @ sums.reshape(terms, -1)).reshape(-1, *sums.shape[1:]))


@lru_cache(maxsize=512)
def _weights(most: float, scales: tuple[float, ...]) -> Array:
    """What each power of the kernel counts under each scale: (scales, terms)."""
    series = [_series(round(most * scale + 0.0049, 2)) for scale in scales]
    weights = np.zeros((len(series), max(map(len, series))))
    for row, scale, own in zip(weights, scales, series, strict=True):
        row[: len(own)] = np.asarray(own) * scale ** np.arange(1, len(own) + 1)
    return weights


def _powers(base: Array, most: int) -> Array:
    """base, base^2 ... base^most on a new first axis."""
    powers = np.empty((most, *base.shape))
    powers[0] = base
    for m in range(1, most):
        np.multiply(powers[m - 1], base, out=powers[m])
    return powers


def _exactly(grid: CellGrid, window: Window, animals: Kernels) -> Array:
    """sum over animals of log(1 - p kernel) on a window of cells, term by term."""
    total = np.zeros((window[0].stop - window[0].start, window[1].stop - window[1].start))
    for x, y, p, sigma in zip(animals.x, animals.y, animals.p, animals.sigma, strict=True):
        up = np.exp(-0.5 * ((grid.y[window[0]] - y) / sigma) ** 2)
        across = np.exp(-0.5 * ((grid.x[window[1]] - x) / sigma) ** 2)
        with np.errstate(divide="ignore"):
            total += np.log1p(-p * up[:, None] * across[None, :])
    return total


@lru_cache(maxsize=128)
def _series(most: float) -> tuple[float, ...]:
    """Weights w with -log(1 - u) = w1 u + w2 u^2 + ... on [0, most], relative error under 1e-5.

    -log(1 - u) / u is interpolated in Chebyshev points, so that small u are as exact as large.
    """

    def ratio(u: Array) -> Array:
        safe = np.where(u > 1e-9, u, 1e-9)
        return np.asarray(-np.log1p(-safe) / safe)

    end = max(most, 0.01)
    points = np.linspace(0.0, end, 301)
    for degree in range(1, MOST_TERMS):
        fitted = Chebyshev.interpolate(ratio, degree, domain=[0.0, end]).convert(
            kind=Polynomial, domain=[-1.0, 1.0]
        )
        if np.abs(fitted(points) / ratio(points) - 1.0).max() < TOLERANCE:
            break
    return tuple(float(w) for w in fitted.coef)
