"""Random networks for tests: the lines that a file would hold, and the same for networkx."""

from __future__ import annotations

from random import Random

from bot.folder.tracks import Track, Tracks, Travel

TRAVEL = Travel(longest_walk_km=900.0)


def crossings(draw: Random, across: int) -> list[tuple[float, float]]:
    """Crossings of a bent grid about 1 km apart, as (lon, lat)."""
    bend = lambda: draw.uniform(-0.003, 0.003)  # noqa: E731
    return [
        (146.9 + 0.01 * x + bend(), -36.9 + 0.01 * y + bend())
        for y in range(across)
        for x in range(across)
    ]


def grid(seed: int, across: int = 6, kept: float = 0.8, oneways: float = 0.2) -> Tracks:
    """A grid with lines left out, some for one direction only, each bent in its middle."""
    draw = Random(seed)
    nodes = crossings(draw, across)
    lines = []
    for here in range(across * across):
        for there in (here + 1 if (here + 1) % across else -1, here + across):
            if there in range(across * across) and draw.random() < kept:
                (x1, y1), (x2, y2) = nodes[here], nodes[there]
                bent = ((x1 + x2) / 2 + draw.uniform(-0.002, 0.002), (y1 + y2) / 2)
                way = (nodes[here], bent, nodes[there])
                speed = draw.choice([10.0, 20.0, 50.0, 80.0])
                lines.append(Track(way, speed, draw.random() < oneways))
    return Tracks(tuple(lines), TRAVEL)
