"""The day's round against every order there is, and above nine stops against its law."""

from __future__ import annotations

from itertools import permutations
from math import hypot
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.fieldwork.rounds import EXACT_UP_TO, best_round, length


def tables(least: int, most: int) -> st.SearchStrategy[list[list[float]]]:
    """Square tables of minutes, there and back unlike."""
    ways = st.integers(0, 300).map(float)
    return st.integers(least + 1, most + 1).flatmap(
        lambda n: st.lists(st.lists(ways, min_size=n, max_size=n), min_size=n, max_size=n)
    )


@given(tables(0, 6), st.booleans())
def test_no_order_is_shorter(minutes: list[list[float]], returns: bool) -> None:
    every = permutations(range(1, len(minutes)))
    shortest = min(length(minutes, order, returns) for order in every)
    found = best_round(minutes, returns)
    assert found.exact
    assert found.minutes == shortest == length(minutes, found.order, returns)


@pytest.mark.parametrize("stops", [8, EXACT_UP_TO])
def test_no_order_of_many_is_shorter(stops: int) -> None:
    """All 362,880 orders of nine, on a table drawn once from a fixed seed."""
    draw = Random(stops)
    minutes = [[float(draw.randrange(300)) for _ in range(stops + 1)] for _ in range(stops + 1)]
    every = permutations(range(1, stops + 1))
    shortest = min(length(minutes, order) for order in every)
    found = best_round(minutes)
    assert (found.exact, found.minutes) == (True, shortest)


def on_a_plane(points: list[tuple[float, float]]) -> list[list[float]]:
    return [[hypot(a - c, b - d) for c, d in points] for a, b in points]


@settings(max_examples=20)
@given(st.lists(st.tuples(st.integers(0, 99), st.integers(0, 99)), min_size=11, max_size=16))
def test_above_nine_each_stop_once_and_no_longer_than_nearest_next(points) -> None:
    minutes = on_a_plane(points)
    found = best_round(minutes)
    assert not found.exact
    assert sorted(found.order) == list(range(1, len(points)))
    left, here, greedy = set(range(1, len(points))), 0, []
    while left:
        here = min(left, key=lambda s: (minutes[here][s], s))
        left.remove(here)
        greedy.append(here)
    assert found.minutes <= length(minutes, greedy) + 1e-9


def test_a_ring_of_twelve_is_driven_round() -> None:
    """Stops on a rectangle: the shortest round is its edge, 28 long."""
    ring = [(x, 0) for x in range(0, 11, 2)] + [(10, 4)] + [(x, 4) for x in range(8, -1, -2)]
    shuffled = [ring[n * 5 % len(ring)] for n in range(len(ring))]
    assert len(set(shuffled)) == len(ring) > EXACT_UP_TO + 1
    assert best_round(on_a_plane(shuffled)).minutes == pytest.approx(28.0)


@pytest.mark.parametrize("minutes", [[], [[0, 1]], [[0, -1], [1, 0]]])
def test_what_is_no_table_is_refused(minutes: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="minutes:"):
        best_round(minutes)
