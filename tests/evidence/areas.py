"""Small invented areas for the spatial tests: square grids cut into square zones."""

from __future__ import annotations

import numpy as np

from bot.evidence.grid import CellGrid, ZoneCells
from bot.evidence.months import Looks
from bot.evidence.spatial import Kernels, kernels


def square(side: int, zone_side: int, cell_km: float = 1.0) -> tuple[CellGrid, ZoneCells]:
    """`side` x `side` cells round an origin, in zones of `zone_side` cells."""
    half = side * cell_km / 2
    grid = CellGrid(-37.0, 147.0, -half, -half, side, side, cell_km)
    rows, columns = np.indices((side, side)) // zone_side
    across = -(-side // zone_side)
    names = tuple(f"zone {n + 1}" for n in range(across * across))
    return grid, ZoneCells(names, (rows * across + columns).astype(np.intp))


def scattered(
    seed: int, n: int, side_km: float, p_high: float = 0.3, radius: float = 6.0
) -> Kernels:
    """n animals anywhere in a square, some outside every cell."""
    draw = np.random.default_rng(seed)
    x, y = draw.uniform(-side_km / 2 - 3, side_km / 2 + 3, (2, n))
    return kernels(x, y, draw.uniform(0, p_high, n), draw.choice([radius, 1.3 * radius], n))


def looks(seed: int, n: int, side_km: float, months: int, se: float = 0.722) -> Looks:
    """n looks at heads, anywhere in a square, spread over some months."""
    draw = np.random.default_rng(seed)
    x, y = draw.uniform(-side_km / 2, side_km / 2, (2, n))
    month = draw.integers(0, months, n).astype(np.intp)
    return Looks(x, y, np.full(n, se), np.full(n, 6.0), month)


def plain_loop(grid: CellGrid, animals: Kernels) -> np.ndarray:
    """log(1 - SeU) of every cell, animal by animal, cell by cell and nothing left out: what the
    fast way is judged by."""
    total = np.zeros((grid.rows, grid.columns))
    for x, y, p, sigma in zip(animals.x, animals.y, animals.p, animals.sigma, strict=True):
        square_km = (grid.y[:, None] - y) ** 2 + (grid.x[None, :] - x) ** 2
        total += np.log1p(-p * np.exp(-square_km / (2 * sigma**2)))
    return total
