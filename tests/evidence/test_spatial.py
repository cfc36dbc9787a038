"""Coverage of cells and sensitivity of zones, against the plain loop and against arithmetic."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from bot.evidence.figures import FigureError
from bot.evidence.grid import NO_ZONE, grid_over, zone_at, zone_cells
from bot.evidence.spatial import (
    Kernels,
    add,
    cover,
    gain,
    kernels,
    sigma_of,
    zone_sensitivity,
)
from tests.evidence.areas import plain_loop, scattered, square

FIELDS = ("x", "y", "p", "sigma")


def test_sigma_of_a_six_kilometre_range():
    """Arithmetic: 95 % of a bivariate normal lies within 2.44775 sigma; 6 km -> 2.4512 km."""
    assert sigma_of(6) == pytest.approx(2.4512, abs=5e-5)
    draw = np.random.default_rng(1)
    distance = np.hypot(*draw.normal(0, float(sigma_of(6)), (2, 100_000)))
    assert (distance < 6).mean() == pytest.approx(0.95, abs=0.003)


@pytest.mark.parametrize("p_high", [0.05, 0.3, 0.6, 0.9, 1.0])
@pytest.mark.parametrize(("side", "cell_km"), [(40, 1.0), (25, 0.7), (7, 5.0)])
def test_as_the_plain_loop(p_high, side, cell_km):
    grid, zones = square(side, 8, cell_km)
    animals = scattered(side, 150, side * cell_km, p_high)
    found = cover(grid, zones, animals)
    judge = -np.expm1(plain_loop(grid, animals))
    assert np.abs(found.unit - judge).max() < 1e-3 * judge.max()
    means = zones.sums(judge) / zones.sizes
    assert found.mean == pytest.approx(means, rel=1e-3)
    sse = zone_sensitivity(found.mean, zones.sizes, 0.05)
    assert sse == pytest.approx(zone_sensitivity(means, zones.sizes, 0.05), rel=1e-3)


def test_nobody_looked():
    grid, zones = square(20, 10)
    found = cover(grid, zones, kernels([], [], [], []))
    assert (found.unit == 0).all()
    assert (zone_sensitivity(found.mean, zones.sizes, 0.01) == 0).all()


def test_one_animal_in_the_middle_of_a_cell():
    """At the centre the chance is p; at 6 km it is p times 0.05 (arithmetic)."""
    grid, zones = square(21, 21)
    found = cover(grid, zones, kernels(0.0, 0.0, 0.4, 6.0)).unit
    assert found[10, 10] == pytest.approx(0.4, rel=1e-4)
    assert found[10, 16] == pytest.approx(0.4 * 0.05, rel=1e-3)
    assert found[10, 4] == found[16, 10]


def test_a_certain_look_at_a_cell_leaves_no_doubt():
    grid, zones = square(3, 3)
    found = cover(grid, zones, kernels(0.0, 0.0, 1.0, 1.0))
    assert found.unit[1, 1] == 1.0
    assert np.isfinite(found.mean).all()


@given(st.integers(0, 30), st.integers(0, 1000))
def test_one_more_find_updates_its_zones_only(n, seed):
    grid, zones = square(60, 15)
    animals = scattered(seed, n, 60.0)
    one = scattered(seed + 1, 1, 60.0)
    before = cover(grid, zones, animals)
    after, touched = add(before, one)
    both = Kernels(*(np.append(getattr(animals, f), getattr(one, f)) for f in FIELDS))
    whole = cover(grid, zones, both)
    # Cells beyond 4.5 sigma of an animal may be left out by one way and not by the other.
    assert after.seen == pytest.approx(whole.seen, rel=1e-3, abs=1e-4)
    others = [z for z in range(len(zones.names)) if z not in touched]
    assert (after.seen[others] == before.seen[others]).all()
    assert before.seen == pytest.approx(cover(grid, zones, animals).seen), "the old one stands"


@given(st.integers(1, 40), st.integers(0, 1000))
def test_more_animals_never_lower_a_cell(n, seed):
    grid, zones = square(30, 10)
    animals = scattered(seed, n, 30.0)
    fewer = animals.only(np.arange(n) < n - 1)
    # One animal fewer may tile the rest otherwise, and with it what lies beyond 4.5 sigma.
    assert (cover(grid, zones, animals).unit >= cover(grid, zones, fewer).unit - 5e-4).all()


@pytest.mark.parametrize("infected", [1, 2, 3])
def test_what_is_stated_is_never_more_than_the_average_over_all_places(infected):
    """Every set of infected cells of a small zone, counted out: Maclaurin's inequality holds."""
    grid, zones = square(4, 4)
    unit = cover(grid, zones, scattered(3, 6, 4.0, 0.8, 1.0)).unit.ravel()
    sets = itertools.combinations(range(16), infected)
    missed = np.mean([np.prod(1 - unit[list(cells)]) for cells in sets])
    stated = zone_sensitivity(unit.mean(), 16, infected / 16)
    assert stated <= 1 - missed + 1e-12
    if infected == 1:
        assert stated == pytest.approx(1 - missed)


def test_at_least_one_cell_is_infected():
    """A prevalence below one cell of the zone means nothing less than that cell."""
    assert zone_sensitivity(0.3, 20, 0.01) == pytest.approx(0.3)
    assert zone_sensitivity(0.3, 200, 0.01) == pytest.approx(1 - 0.7**2)


def test_a_zone_without_a_cell_has_no_figure():
    grid, zones = square(10, 10)
    lost = type(zones)((*zones.names, "lost"), zones.labels)
    assert np.isnan(cover(grid, lost, scattered(1, 5, 10.0)).mean[-1])


def test_where_another_head_would_tell_most():
    """Where nobody has looked; checked against adding the animal there."""
    grid, zones = square(40, 40)
    found = cover(grid, zones, kernels(np.full(20, -10.0), np.full(20, -10.0), 0.3, 6.0))
    map_of_gain = gain(found, 0.2, 6.0)
    assert map_of_gain[30, 30] > map_of_gain[10, 10]
    after, _ = add(found, kernels(grid.x[30], grid.y[30], 0.2, 6.0))
    assert map_of_gain[30, 30] == pytest.approx((after.seen - found.seen)[0], rel=1e-3)


def test_a_grid_over_degrees():
    """The invented programme's area: 0.9 degrees of latitude are 99.9 km (WGS84 at 37 S)."""
    area = box(146.6, -37.4, 147.6, -36.5)
    grid = grid_over(area)
    assert grid.rows == pytest.approx(100, abs=2)
    x, y = grid.to_km([-36.5, -37.4], [147.1, 147.1])
    assert y[0] - y[1] == pytest.approx(99.88, abs=0.05)
    lat, lon = grid.to_degrees(x, y)
    assert lat == pytest.approx([-36.5, -37.4], abs=1e-9)
    assert lon == pytest.approx([147.1, 147.1], abs=1e-9)


def test_cells_belong_to_the_first_zone_that_holds_them():
    north, south = box(146.6, -36.95, 147.6, -36.5), box(146.6, -37.4, 147.6, -36.9)
    grid = grid_over(north.union(south))
    cells = zone_cells(grid, [("north", north), ("south", south)])
    x, y = grid.to_km([-36.6, -36.92, -37.3, -30.0], [147.0, 147.0, 147.0, 147.0])
    assert zone_at(grid, cells, x, y).tolist() == [0, 0, 1, NO_ZONE]
    assert cells.sizes.sum() <= grid.rows * grid.columns
    assert cells.sizes.sum() == pytest.approx(8900, rel=0.02), "1 x 0.9 degrees, in km2"


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: kernels(0, 0, 1.2, 6), "p:"),
        (lambda: kernels(0, 0, 0.2, 0), "radius_95_km"),
        (lambda: zone_sensitivity(0.2, 10, 0), "pstar"),
        (lambda: grid_over(box(146, -37, 147, -36), 0), "cell_km"),
        (lambda: grid_over(box(100, -37, 150, 0), 0.1), "cell_km"),
    ],
)
def test_a_wrong_figure_is_named(call, named):
    with pytest.raises(FigureError, match=named):
        call()
