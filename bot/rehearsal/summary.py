"""What a rehearsal comes to: one row of figures, and the line that shows it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import timedelta

import numpy as np
from msgspec import Struct

from bot.rehearsal.playing import Played


class Summary(Struct, frozen=True):
    """One season. Times in minutes, (median, 90th percentile); NaN where there are none."""

    load: float
    finds: int
    to_yes: tuple[float, float]
    to_collected: tuple[float, float]
    handed_over: dict[str, int]
    """How many went to the coordinator, by the reason."""
    driven: float
    hindsight: float
    texts: int
    segments: int
    news: int

    @property
    def to_coordinator(self) -> float:
        """The share that a person had to find somebody for."""
        return sum(self.handed_over.values()) / max(1, self.finds)

    @property
    def above(self) -> float:
        """How far what was driven lies above hindsight, as a share of it."""
        return self.driven / self.hindsight - 1.0 if self.hindsight else 0.0


def summed(played: Sequence[Played], capacity: int, driven: float, hindsight: float) -> Summary:
    """The figures of one season that was played to its end."""
    yes = [(p.taken_at - p.find.at) for p in played if p.taken_at]
    had = [(p.collected_at - p.find.at) for p in played if p.collected_at]
    return Summary(
        load=len(played) / capacity if capacity else float("inf"),
        finds=len(played),
        to_yes=_spread(yes),
        to_collected=_spread(had),
        handed_over=dict(sorted(Counter(p.given_up for p in played if p.given_up).items())),
        driven=driven,
        hindsight=hindsight,
        texts=sum(p.texts for p in played),
        segments=sum(p.segments for p in played),
        news=sum(p.news for p in played),
    )


HEADING = (
    "    load  finds   yes after     collected after  to coordinator   driven  hindsight   above"
    "   staff texts  segments  news"
)


def line(row: Summary) -> str:
    """The row under HEADING."""
    yes = f"{row.to_yes[0]:4.0f}/{row.to_yes[1]:4.0f} min"
    had = f"{row.to_collected[0] / 60:5.1f}/{row.to_collected[1] / 60:5.1f} h"
    return (
        f"{row.load:7.0%} {row.finds:6d}  {yes:>13}  {had:>15}  {row.to_coordinator:13.1%}"
        f"  {row.driven / 60:6.0f} h  {row.hindsight / 60:7.0f} h  {row.above:6.1%}"
        f"  {row.texts:11d}  {row.segments:8d}  {row.news:4d}"
    )


def reasons(row: Summary) -> str:
    """Why finds were handed over, in one line; "" where none was."""
    told = ", ".join(f"{reason} {count}" for reason, count in row.handed_over.items())
    return f"         to the coordinator: {told}" if told else ""


def _spread(spans: Iterable[timedelta]) -> tuple[float, float]:
    minutes = [span.total_seconds() / 60.0 for span in spans]
    if not minutes:
        return float("nan"), float("nan")
    return float(np.median(minutes)), float(np.quantile(minutes, 0.9))
