"""A zone's plots as numbers: a time axis of windows, a line of probability.

Everything is in drawing units of a box WIDTH wide; templates put them into SVG and the PDF into
its own strokes, with no script.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.evidence.programme_account import Positive, ZoneAccount

WIDTH, MARGIN = 640, 14
ROW = 26
AXIS_LEFT = 96
LONGEST_AXIS = timedelta(days=365 * 6)
PLOT_HEIGHT, PLOT_TOP, PLOT_BOTTOM, PLOT_LEFT = 240, 14, 204, 52


@dataclass(frozen=True, slots=True)
class Bar:
    """One animal's window: the bar, the part in which lesions may not show, and its name."""

    name: str
    y: float
    x: float
    width: float
    lag_x: float
    lag_width: float
    opened: bool


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """The windows of a zone's positives, and a tick (x, words) for each year or month."""

    height: float
    bars: tuple[Bar, ...]
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class Freedom:
    """The probability by month: points of a line and of its band, ticks (x, words) below, levels
    (y, words) at the side."""

    line_points: tuple[tuple[float, float], ...]
    band_points: tuple[tuple[float, float], ...]
    ticks: tuple[tuple[float, str], ...]
    levels: tuple[tuple[float, str], ...]

    @property
    def line(self) -> str:
        """The line as an SVG path."""
        return path_of(self.line_points)

    @property
    def band(self) -> str:
        """The band as a closed SVG path, "" where there is none."""
        return path_of(self.band_points) + " Z" if self.band_points else ""


def path_of(points: Sequence[tuple[float, float]]) -> str:
    """Drawing points as an open SVG path."""
    return "M" + " L".join(f"{x:g} {y:g}" for x, y in points) if points else ""


def axis_of(positives: Sequence[Positive], until: datetime) -> TimeAxis | None:
    """The windows of a zone's positives, the latest death first; None where there is none."""
    if not positives:
        return None
    known = [p.window.start for p in positives if p.window.start]
    last = max(until, *(p.window.death for p in positives))
    first = max(min([*known, last - timedelta(days=365)]), last - LONGEST_AXIS)
    scale = (WIDTH - AXIS_LEFT - MARGIN) / ((last - first) / timedelta(days=1))

    def x(moment: datetime) -> float:
        days = max(moment, first) - first
        return round(AXIS_LEFT + days / timedelta(days=1) * scale, 1)

    bars = []
    for n, one in enumerate(sorted(positives, key=lambda p: p.window.death, reverse=True)):
        window = one.window
        start, end, death = x(window.start or first), x(window.end), x(window.death)
        opened = window.start is None or window.start < first
        width = round(max(2.0, end - start), 1)
        bars.append(
            Bar(one.code, 30 + n * ROW, start, width, end, round(max(0.0, death - end), 1), opened)
        )
    ticks = tuple((x(at), words) for at, words in _ticks(first, last))
    return TimeAxis(44 + len(bars) * ROW, tuple(bars), ticks)


def _ticks(first: datetime, last: datetime) -> Iterable[tuple[datetime, str]]:
    """Months where they have room, quarters or years otherwise."""
    months = (last.year - first.year) * 12 + last.month - first.month
    step = next(s for s in (1, 3, 6, 12) if months <= 8 * s or s == 12)
    at = first.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    while at <= last:
        if at >= first and (at.month - 1) % step == 0:
            yield at, f"{at:%b %Y}"
        at = (at + timedelta(days=32)).replace(day=1)


def months_of(account: ZoneAccount) -> tuple[str, ...]:
    """The months of an account, each like 2026-11."""
    year, month = map(int, account.first_month.split("-"))
    count = len(account.result.months)
    return tuple(
        f"{year + (month - 1 + n) // 12}-{(month - 1 + n) % 12 + 1:02d}" for n in range(count)
    )


def freedom_of(account: ZoneAccount) -> Freedom | None:
    """The line by month; None for a zone that has no probability in any month."""
    known = [(n, m.pfree) for n, m in enumerate(account.result.months) if m.pfree is not None]
    if account.result.confirmed or not known:
        return None
    count = len(account.result.months)
    step = (WIDTH - PLOT_LEFT - MARGIN) / max(1, count - 1)

    def xy(n: int, value: float) -> tuple[float, float]:
        y = PLOT_BOTTOM - value * (PLOT_BOTTOM - PLOT_TOP)
        return round(PLOT_LEFT + n * step, 1), round(y, 1)

    line = [xy(n, value) for n, value in known]
    if len(line) == 1:
        line.append((line[0][0] + 12, line[0][1]))
    band = [(n, low, high) for n, (low, high) in enumerate(account.result.band) if low is not None]
    edge = [xy(n, high) for n, _, high in band if high is not None]
    edge += [xy(n, low) for n, low, _ in reversed(band)]
    every = max(1, math.ceil(count / 8))
    names = months_of(account)
    return Freedom(
        line_points=tuple(line),
        band_points=tuple(edge) if len(band) > 1 else (),
        ticks=tuple((xy(n, 0)[0], names[n]) for n in range(0, count, every)),
        levels=tuple((xy(0, v)[1], f"{v:.0%}".replace("%", " %")) for v in (0, 0.25, 0.5, 0.75, 1)),
    )
