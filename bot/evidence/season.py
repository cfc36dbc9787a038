"""PURE. A season in figures: finds by week, species and zone, how soon they were taken on and
handed in, and how many no person had to help along."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta, tzinfo
from statistics import median
from typing import Protocol

from msgspec import Struct

SUSPECT = frozenset({"suspect", "found_dead"})
WEEK = timedelta(days=7)


class Counted(Protocol):
    """What is counted of a find."""

    @property
    def opened_at(self) -> datetime: ...
    @property
    def find_state(self) -> str: ...
    @property
    def species(self) -> str: ...
    @property
    def taken_at(self) -> datetime | None: ...
    @property
    def handed_in_at(self) -> datetime | None: ...
    @property
    def stage(self) -> str: ...
    @property
    def by_bot_alone(self) -> bool: ...


class Tally(Struct, frozen=True):
    """How many finds of one sort were suspect, clean, or neither."""

    name: str
    suspect: int = 0
    clean: int = 0
    other: int = 0

    @property
    def all(self) -> int:
        """All of them."""
        return self.suspect + self.clean + self.other


class Waits(Struct, frozen=True):
    """Hours from a find's first word, over the finds for which it came so far: how many, the
    median, and the time within which nine in ten were (nearest rank)."""

    count: int
    median_h: float
    nine_in_ten_h: float


def tally(rows: Iterable[tuple[str, Counted]]) -> tuple[Tally, ...]:
    """Named finds counted by name, the most first."""
    counts: dict[str, Counter[str]] = {}
    for name, find in rows:
        counts.setdefault(name, Counter())[_sort(find)] += 1
    rows_ = [Tally(name, c["suspect"], c["clean"], c["other"]) for name, c in counts.items()]
    return tuple(sorted(rows_, key=lambda row: (-row.all, row.name)))


def by_week(rows: Sequence[Counted], zone: tzinfo) -> tuple[Tally, ...]:
    """Finds by the local week (its Monday) in which they were opened, empty weeks among them."""
    named = [(_monday(row.opened_at, zone), row) for row in rows]
    if not named:
        return ()
    first, last = min(day for day, _ in named), max(day for day, _ in named)
    known = {t.name: t for t in tally((day.isoformat(), row) for day, row in named)}
    weeks = ((first + n * WEEK).isoformat() for n in range((last - first).days // 7 + 1))
    return tuple(known.get(name, Tally(name)) for name in weeks)


def waits(rows: Iterable[Counted], until: str) -> Waits | None:
    """How long "taken_at" or "handed_in_at" took; None where it came for no find."""
    hours = sorted(
        (then - row.opened_at).total_seconds() / 3600
        for row in rows
        if (then := getattr(row, until)) is not None
    )
    if not hours:
        return None
    rank = -(-9 * len(hours) // 10)
    return Waits(len(hours), round(median(hours), 1), round(hours[rank - 1], 1))


def share_by_bot(rows: Iterable[Counted]) -> tuple[int, int]:
    """(finished without a person, finished): of the finds that the bot asks nothing more about."""
    done = [row for row in rows if row.stage != "asking"]
    return sum(row.by_bot_alone for row in done), len(done)


def _sort(find: Counted) -> str:
    if find.find_state in SUSPECT:
        return "suspect"
    return "clean" if find.find_state == "clean" else "other"


def _monday(at: datetime, zone: tzinfo) -> date:
    day = at.astimezone(zone).date()
    return day - timedelta(days=day.weekday())
