"""Milliseconds of processor time for one dispatch: 5,000 staff, a network of 200,000 edges.

Run: python -m tests.bench.dispatch. Not collected as a test: it measures, and asserts nothing. Each
find stands somewhere else; the ratio is to one full search of the same graph by scipy alone.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace as with_tracks
from random import Random

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from bot.fieldwork.dispatch import Roster, soonest
from bot.fieldwork.travel import Network, network_of, spots_of
from bot.folder.tracks import Track, Tracks, Travel
from bot.programme import Member
from tests.fieldwork.rosters import NOON, PROGRAMME

ACROSS = 317
STEP = 0.01
STAFF = 5000
CASES = (
    *((25.0, 1.0), (25.0, 0.02), (60.0, 1.0)),
    *((2000.0, 1.0), (2000.0, 0.02), (2000.0, 1e-3), (2000.0, 0.0)),
)
"""How far they go, in km, and which share of them works at all."""


def tracks(draw: Random) -> Tracks:
    """A grid of about 1 km, bent at random: 317 by 317 crossings have 200,344 edges."""

    def at(x: int, y: int) -> tuple[float, float]:
        bend = Random(y * ACROSS + x)
        return (
            146.0 + STEP * x + bend.uniform(-0.003, 0.003),
            -38.0 + STEP * y + bend.uniform(-0.003, 0.003),
        )

    ways = [((x, y), (x + 1, y)) for x in range(ACROSS - 1) for y in range(ACROSS)]
    ways += [((x, y), (x, y + 1)) for x in range(ACROSS) for y in range(ACROSS - 1)]
    lines = (Track((at(*a), at(*b)), draw.choice([20.0, 50.0, 80.0])) for a, b in ways)
    return Tracks(tuple(lines), Travel())


def people(draw: Random, reach_km: float, working: float) -> Roster:
    """Staff all over the network, each with hours of his own; a share of them works at all."""
    top = STEP * (ACROSS - 1)
    return Roster(
        tuple(
            Member(
                f"s{n:04}", "X", "field", "+61491570156",
                -38.0 + draw.uniform(0, top), 146.0 + draw.uniform(0, top), reach_km,
                days=(0, 1, 2, 3, 4, 5, 6) if draw.random() < working else (),
                from_minute=draw.randrange(300, 700), to_minute=draw.randrange(800, 1400),
            )
            for n in range(STAFF)
        )
    )  # fmt: skip


def timed(job: Callable[[float, float], object], finds: list[tuple[float, float]]) -> list[float]:
    """Milliseconds of processor time for each find."""
    job(*finds[0])
    took = []
    for place in finds:
        start = time.process_time()
        job(*place)
        took.append((time.process_time() - start) * 1e3)
    return took


def full_search(network: Network) -> Callable[[float, float], object]:
    """One search of the whole graph by scipy alone, from a node at random."""
    graph = csr_matrix((network.costs, network.into, network.begins))
    draw = Random(9)
    return lambda lat, lon: dijkstra(graph, indices=draw.randrange(network.nodes))


def main() -> None:
    draw = Random(4)
    start = time.process_time()
    programme = with_tracks(PROGRAMME, tracks=tracks(draw))
    assert programme.tracks is not None
    network = network_of(programme.tracks)
    assert network is not None
    print(
        f"built in {time.process_time() - start:.1f} s: {len(network.minutes)} edges",
        file=sys.stderr,
    )
    finds = [(-38.0 + draw.uniform(0.5, 2.5), 146.0 + draw.uniform(0.5, 2.5)) for _ in range(60)]
    whole = statistics.median(timed(full_search(network), finds))
    print(f"{'one full search':<34}{whole:>8.2f} ms")
    for reach, working in CASES:
        roster = people(draw, reach, working)
        words = f"reach {reach:.0f} km, {100 * working:g} % at work"
        spots_of(network, roster.bases)

        def job(lat: float, lon: float, roster: Roster = roster) -> object:
            return next(soonest(lat, lon, NOON, roster, programme), None)

        def anew(lat: float, lon: float, roster: Roster = roster) -> object:
            """A roster as it comes from the database: its tables are made for each find."""
            return job(lat, lon, Roster(roster.members))

        took = timed(job, finds)
        high = float(np.quantile(took, 0.95))
        print(
            f"{words:<34}{statistics.median(took):>8.2f} ms median{high:>8.2f} ms 95th"
            f"{statistics.median(took) / whole:>7.2f} of a full search,"
            f"{statistics.median(timed(anew, finds)):>6.2f} ms with a roster made anew"
        )


if __name__ == "__main__":
    main()
