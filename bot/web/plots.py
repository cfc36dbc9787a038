"""Bars as numbers for a small drawing: a template makes SVG of them, a table says the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.evidence.season import Tally

WIDTH, HEIGHT, BASE = 720, 200, 170
LEFT = 36
MOST_LABELS = 12


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a bar. `sort` is suspect, clean or other."""

    sort: str
    y: float
    height: float


@dataclass(frozen=True, slots=True)
class Bar:
    """One week: where it stands, its parts from the ground up, and its label or ""."""

    x: float
    width: float
    label: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Plot:
    """All bars, and the lines of the scale as (y, figure)."""

    bars: tuple[Bar, ...]
    lines: tuple[tuple[float, int], ...]


def bars_of(tallies: Sequence[Tally]) -> Plot | None:
    """The plot of some tallies in their order; None of none."""
    if not tallies:
        return None
    top = _round_up(max(t.all for t in tallies))
    step = (WIDTH - LEFT) / len(tallies)
    every = -(-len(tallies) // MOST_LABELS)
    scale = (BASE - 12) / top
    bars = tuple(
        Bar(
            round(LEFT + n * step + step * 0.15, 1),
            round(min(step * 0.7, 60), 1),
            tally.name if n % every == 0 else "",
            tuple(_parts(tally, scale)),
        )
        for n, tally in enumerate(tallies)
    )
    lines = tuple((round(BASE - figure * scale, 1), figure) for figure in {0, top // 2, top})
    return Plot(bars, tuple(sorted(lines)))


def _parts(tally: Tally, scale: float) -> list[Part]:
    parts, y = [], float(BASE)
    for sort in ("suspect", "clean", "other"):
        height = getattr(tally, sort) * scale
        y -= height
        if height:
            parts.append(Part(sort, round(y, 1), round(height, 1)))
    return parts


def _round_up(figure: int) -> int:
    """The next figure that halves well: 2, 4, 6, 10, 20, 40 ..."""
    for step in (2, 4, 6, 10):
        if figure <= step:
            return step
    return -(-figure // 20) * 20
