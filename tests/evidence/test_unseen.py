"""Where another clean animal would say most: checked by adding one everywhere and looking."""

from __future__ import annotations

import numpy as np
import pytest

from bot.evidence.spatial import add, cover, kernels
from bot.evidence.unseen import unseen_of
from tests.evidence.areas import scattered, square


@pytest.fixture
def coverage():
    grid, zones = square(24, 12)
    return cover(grid, zones, scattered(3, 30, 24.0))


def test_the_best_cell_is_the_one_that_adds_most(coverage):
    """Against the plain way: one animal added at each cell's centre, the zone's mean compared."""
    zone, grid = 2, coverage.grid
    best = unseen_of(coverage, zone, 0.2, 6.0, most=1)[0]
    gains = {}
    for row, column in zip(*np.nonzero(coverage.zones.labels == zone), strict=True):
        animal = kernels(grid.x[column], grid.y[row], 0.2, 6.0)
        after, _ = add(coverage, animal)
        gains[row, column] = after.seen.sum() - coverage.seen.sum()
    row, column = max(gains, key=gains.get)
    x, y = grid.to_km(best.lat, best.lon)
    assert (float(x), float(y)) == pytest.approx((grid.x[column], grid.y[row]), abs=1e-3)
    assert best.gain == pytest.approx(max(gains.values()) / coverage.zones.sizes[zone], rel=1e-3)


def test_places_lie_in_the_zone_apart_and_best_first(coverage):
    places = unseen_of(coverage, 0, 0.2, 3.0)
    assert len(places) == 3
    assert [p.gain for p in places] == sorted((p.gain for p in places), reverse=True)
    x, y = coverage.grid.to_km([p.lat for p in places], [p.lon for p in places])
    assert all(np.hypot(x[a] - x[b], y[a] - y[b]) > 3.0 for a, b in [(0, 1), (0, 2), (1, 2)])
    assert (x < 0).all()
    assert (y < 0).all()


def test_a_zone_without_a_cell_has_none():
    grid, zones = square(4, 4)
    coverage = cover(grid, zones, scattered(1, 2, 4.0))
    assert unseen_of(coverage, 7, 0.2, 6.0) == ()
