"""Where one more clean animal would say most of a zone: for coordinators only.

Law: this never goes to the public, since asking it for animals from one place invites releases.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from bot.evidence.spatial import Coverage, gain


class Unseen(Struct, frozen=True):
    """A place in WGS84 degrees, and by how much a clean animal there would raise the mean
    sensitivity of its zone's cells."""

    lat: float
    lon: float
    gain: float


def unseen_of(
    coverage: Coverage, zone: int, p: float, radius_km: float, most: int = 3
) -> tuple[Unseen, ...]:
    """The best cells of a zone, best first, no two within one radius of each other.

    `p` is the chance that a clean animal right there would have shown the disease.
    """
    grid = coverage.grid
    inside = coverage.zones.labels == zone
    worth = np.where(inside, gain(coverage, p, radius_km), 0.0)
    x, y = np.meshgrid(grid.x, grid.y)
    found: list[Unseen] = []
    while len(found) < most and worth.max(initial=0.0) > 0.0:
        row, column = np.unravel_index(int(worth.argmax()), worth.shape)
        lat, lon = grid.to_degrees(x[row, column], y[row, column])
        share = float(worth[row, column] / coverage.zones.sizes[zone])
        found.append(Unseen(float(lat), float(lon), share))
        near = np.hypot(x - x[row, column], y - y[row, column]) <= radius_km
        worth = np.where(near, 0.0, worth)
    return tuple(found)
