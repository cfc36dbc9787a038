"""PURE. The day's round: in which order one person drives to several places.

Given the minutes between every two of them, up to nine stops are ordered exactly (Held and
Karp's dynamic programming over sets of stops); more by a heuristic that never gives a round
longer than the nearest-next one it starts from. Ties fall to the lower number, so that the
same stops always give the same round.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

EXACT_UP_TO = 9

Minutes = Sequence[Sequence[float]]


class Round(Struct, frozen=True):
    """The stops in the order in which to drive, and the minutes of the whole way. `exact`
    says whether no other order is shorter."""

    order: tuple[int, ...]
    minutes: float
    exact: bool


def best_round(minutes: Minutes, returns: bool = True) -> Round:
    """Order the stops 1..n of a square table of minutes whose row and column 0 are the base.

    `minutes[a][b]` is the way from a to b and may differ from b to a. With `returns` the way
    home counts. ValueError if the table is not square or a way is negative.
    """
    size = len(minutes)
    if size == 0 or any(len(row) != size for row in minutes):
        raise ValueError("minutes: not a square table with a base")
    if any(way < 0 for row in minutes for way in row):
        raise ValueError("minutes: a way is negative")
    exact = size - 1 <= EXACT_UP_TO
    order = _exact(minutes, returns) if exact else _good(minutes, returns)
    return Round(order, length(minutes, order, returns), exact)


def length(minutes: Minutes, order: Sequence[int], returns: bool = True) -> float:
    """The minutes of one order, from the base and, with `returns`, back to it."""
    stops = (0, *order, 0) if returns and order else (0, *order)
    return sum(minutes[a][b] for a, b in pairwise(stops))


def _exact(minutes: Minutes, returns: bool) -> tuple[int, ...]:
    """The best way through each set of stops to each last stop, set by set."""
    stops = range(1, len(minutes))
    if not stops:
        return ()
    best: dict[tuple[int, int], tuple[float, tuple[int, ...]]] = {
        (1 << s, s): (minutes[0][s], (s,)) for s in stops
    }
    whole = sum(1 << s for s in stops)
    for visited in range(2, whole + 1, 2):
        for last in stops:
            here = best.get((visited, last))
            if here is None:
                continue
            for following in stops:
                if visited >> following & 1:
                    continue
                key = (visited | 1 << following, following)
                way = (here[0] + minutes[last][following], (*here[1], following))
                best[key] = min(best.get(key, way), way)
    home = [(best[whole, s][0] + returns * minutes[s][0], best[whole, s][1]) for s in stops]
    return min(home)[1]


def _good(minutes: Minutes, returns: bool) -> tuple[int, ...]:
    """Nearest next, then the best move of any stretch, turned or not, till none shortens it."""
    table = np.array(minutes, dtype=float)
    order = np.array(_nearest_next(minutes))
    places = tuple(range(len(order)))
    # Where each stop of an order goes in its neighbours; the first is the order itself.
    moves = np.array([places, *_neighbours(places)])
    while True:
        orders = order[moves]
        lengths = _lengths(table, orders, returns)
        best = int(lengths.argmin())
        # A hair's breadth is rounding, and would turn the round in circles.
        if lengths[best] >= lengths[0] - 1e-9:
            return tuple(map(int, order))
        order = orders[best]


def _lengths(
    table: NDArray[np.float64], orders: NDArray[np.int64], returns: bool
) -> NDArray[np.float64]:
    """The minutes of each of many orders, all at once."""
    first, last = table[0, orders[:, 0]], table[orders[:, -1], 0] * returns
    return np.asarray(first + last + table[orders[:, :-1], orders[:, 1:]].sum(axis=1))


def _nearest_next(minutes: Minutes) -> tuple[int, ...]:
    left, here, order = set(range(1, len(minutes))), 0, []
    while left:
        here = min(left, key=lambda s: (minutes[here][s], s))
        left.remove(here)
        order.append(here)
    return tuple(order)


def _neighbours(order: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Each order that comes of turning one stretch, or of moving one of up to three stops."""
    count = len(order)
    found = []
    for start in range(count):
        for end in range(start + 2, count + 1):
            found.append(order[:start] + order[start:end][::-1] + order[end:])
        for end in range(start + 1, min(start + 3, count) + 1):
            stretch, rest = order[start:end], order[:start] + order[end:]
            for at in range(len(rest) + 1):
                if at != start:
                    found.append(rest[:at] + stretch + rest[at:])
                    found.append(rest[:at] + stretch[::-1] + rest[at:])
    return found
