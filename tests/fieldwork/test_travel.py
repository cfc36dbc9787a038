"""Minutes on the network: equal to networkx on random networks, every line point by point."""

from __future__ import annotations

from itertools import pairwise, product
from random import Random

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from bot.fieldwork.travel import (
    cut_off,
    is_known,
    minutes_between,
    minutes_to,
    network_of,
    spots_of,
)
from bot.folder.tracks import Track, Tracks, Travel
from tests.fieldwork.networks import TRAVEL, grid

networkx = pytest.importorskip("networkx")


TWO_METRES = 0.05
"""Minutes: a point of a line within two metres of its end counts as its end, and what rounding
on the plane leaves beside the line is walked at 3 km/h."""


def km(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Kilometres between two (lon, lat) by GeographicLib's pure Python."""
    line = Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0], Geodesic.DISTANCE)
    return line["s12"] / 1000


def graph_of(tracks: Tracks):
    """The same lines for networkx: one node for each point, one edge for each stretch."""
    graph = networkx.MultiDiGraph()
    for track in tracks.lines:
        for a, b in pairwise(track.points):
            minutes = km(a, b) / track.speed_kmh * 60
            graph.add_edge(a, b, minutes=minutes)
            if not track.oneway:
                graph.add_edge(b, a, minutes=minutes)
    return graph


def built(tracks: Tracks):
    network = network_of(tracks)
    assert network is not None
    return network


@pytest.mark.parametrize("seed", range(8))
def test_minutes_equal_networkx_on_random_networks(seed: int) -> None:
    tracks = grid(seed)
    network, graph = built(tracks), graph_of(tracks)
    points = sorted(graph.nodes)
    spots = spots_of(network, tuple((lat, lon) for lon, lat in points))
    for target in Random(seed).sample(points, 6):
        ways = networkx.shortest_path_length(graph, target=target, weight="minutes")
        found = minutes_to(network, (target[1], target[0]), spots)
        assert found is not None
        expected = [ways.get(p, np.inf) for p in points]
        assert found == pytest.approx(expected, abs=TWO_METRES)
        assert np.isfinite(found).sum() > 1


@pytest.mark.parametrize("seed", range(4))
def test_a_place_within_a_line_is_reached_from_either_side(seed: int) -> None:
    """A stretch is cut in two for networkx at the very place that is asked for."""
    draw = Random(seed)
    tracks = grid(seed, oneways=0.3)
    network = built(tracks)
    cut = draw.randrange(len(tracks.lines))
    line, share = tracks.lines[cut], draw.uniform(0.1, 0.9)
    (x1, y1), (x2, y2) = line.points[:2]
    middle = (x1 + share * (x2 - x1), y1 + share * (y2 - y1))
    halves = line._replace(points=(line.points[0], middle, *line.points[1:]))
    graph = graph_of(Tracks((*tracks.lines[:cut], halves, *tracks.lines[cut + 1 :]), TRAVEL))
    points = sorted(graph.nodes)
    spots = spots_of(network, tuple((lat, lon) for lon, lat in points))
    ways = networkx.shortest_path_length(graph, target=middle, weight="minutes")
    found = minutes_to(network, (middle[1], middle[0]), spots)
    assert found == pytest.approx([ways.get(p, np.inf) for p in points], abs=TWO_METRES)


@pytest.mark.parametrize("limit", [0.0, 1.0, 7.5, 30.0])
def test_a_limit_leaves_out_what_lies_beyond_it_and_changes_nothing_else(limit: float) -> None:
    network = built(grid(3))
    spots = spots_of(
        network, tuple((-36.9 + a / 90, 146.9 + b / 90) for a, b in product(range(6), repeat=2))
    )
    whole = minutes_to(network, (-36.88, 146.92), spots)
    bounded = minutes_to(network, (-36.88, 146.92), spots, limit)
    assert whole is not None
    assert bounded is not None
    assert bounded == pytest.approx(np.where(whole <= limit, whole, np.inf))


STRAIGHT = Track(((147.0, -37.0), (147.1, -37.0)), 60.0)


def test_the_rest_is_walked_slowly() -> None:
    """0.01 degrees south of the middle of a line: about 1.1 km at 3 km/h."""
    network = built(Tracks((STRAIGHT,), Travel()))
    base = spots_of(network, ((-37.0, 147.0),))
    found = minutes_to(network, (-37.01, 147.05), base)
    assert found is not None
    drive = km((147.0, -37.0), (147.05, -37.0))
    walk = km((147.05, -37.0), (147.05, -37.01))
    assert found[0] == pytest.approx(drive / 60 * 60 + walk / 3 * 60, rel=1e-3)


def test_too_far_from_every_line_the_network_says_nothing() -> None:
    network = built(Tracks((STRAIGHT,), Travel(longest_walk_km=2.0)))
    bases = spots_of(network, ((-37.0, 147.0), (-37.3, 147.0)))
    assert is_known(network, bases).tolist() == [True, False]
    assert minutes_to(network, (-37.1, 147.05), bases) is None
    found = minutes_to(network, (-37.0, 147.05), bases)
    assert found is not None
    assert np.isfinite(found).tolist() == [True, False]


@pytest.mark.parametrize(("gap_m", "joined"), [(5.0, True), (14.0, True), (25.0, False)])
def test_a_loose_end_joins_another_line_close_by(gap_m: float, joined: bool) -> None:
    east = 147.1 + gap_m / 111_320 / np.cos(np.radians(37.0))
    other = Track(((east, -37.0), (east + 0.1, -37.0)), 60.0)
    network = built(Tracks((STRAIGHT, other), Travel(snap_m=15.0)))
    found = minutes_to(network, (-37.0, east + 0.1), spots_of(network, ((-37.0, 147.0),)))
    assert found is not None
    assert bool(np.isfinite(found[0])) is joined


def test_one_way_is_driven_one_way() -> None:
    network = built(Tracks((STRAIGHT._replace(oneway=True),), Travel()))
    places = ((-37.0, 147.02), (-37.0, 147.08))
    table = minutes_between(network, places)
    assert table is not None
    assert np.isfinite(table).tolist() == [[True, True], [False, True]]


def test_a_ring_and_a_point_drawn_twice_do_no_harm() -> None:
    ring = Track(
        ((147.0, -37.0), (147.1, -37.0), (147.1, -37.0), (147.05, -36.95), (147.0, -37.0)), 60.0
    )
    network = built(Tracks((ring,), Travel()))
    found = minutes_to(
        network, (-37.0, 147.05), spots_of(network, ((-37.0, 147.0), (-37.0, 147.1)))
    )
    assert found == pytest.approx([km((147.0, -37.0), (147.05, -37.0))] * 2, rel=1e-3)


def test_the_graph_is_built_once_for_each_load() -> None:
    tracks = grid(1)
    assert network_of(tracks) is network_of(tracks)
    assert network_of(Tracks((), Travel())) is None


def test_stretches_that_hang_with_nothing_are_counted() -> None:
    far = Track(((147.5, -37.0), (147.6, -37.0)), 60.0)
    assert cut_off(built(Tracks((STRAIGHT, far), Travel()))) == 1
    assert cut_off(built(Tracks((STRAIGHT,), Travel()))) == 0
    onward = Track(((147.1, -37.0), (147.1, -37.1)), 60.0, True)
    assert cut_off(built(Tracks((STRAIGHT, onward, far), Travel()))) == 1
