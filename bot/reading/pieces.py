"""What the grammar finds in a text before it is put together: days said and times said.

Positions are those of the text; `first` and `last` count tokens, so that neighbours are known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta, tzinfo
from typing import NamedTuple

from msgspec import Struct

from bot.reading.scene import Order

MOST = 12
"""Nobody tells of more days, times or parts of the day in one text; what follows is not read."""


class Token(NamedTuple):
    """A word, phrase or figure with the letter that the grammar knows it by."""

    letter: str
    text: str
    start: int
    end: int
    values: Mapping[str, int | str]


class Frame(Struct, frozen=True):
    """The moment and the habits by which words become days. `now` is local."""

    now: datetime
    zone: tzinfo
    order: Order

    @property
    def today(self) -> date:
        """The local day of the text."""
        return self.now.date()


class Day(Struct, frozen=True):
    """A day as it was said: one day, several possible ones, a run of days, or a reason why not.

    `weekday` is set where only a weekday was named, so that a date beside it may decide.
    """

    days: tuple[date, ...] = ()
    weekday: int | None = None
    until: date | None = None
    """The end (exclusive) of a run of days that begins with the first of `days`."""
    instant: tuple[datetime, datetime] | None = None
    part: str = ""
    why: str = ""
    weak: bool = False
    """Said so lightly ("now") that it must stand alone or with the killing."""
    assumed: tuple[str, ...] = ()
    first: int = 0
    last: int = 0
    start: int = 0
    end: int = 0


class Clock(Struct, frozen=True):
    """A time of day in minutes after midnight. `half` is "am", "pm", "24" or "" (not said)."""

    minute: int
    half: str = ""
    about: bool = False
    hour_only: bool = False
    length: int = 0
    """Minutes from there to the other end of "between 3 and 5 pm"; 0 where one time was said."""
    alone: bool = False
    """Clear enough to be a time without a day beside it."""
    first: int = 0
    last: int = 0
    start: int = 0
    end: int = 0


class Part(Struct, frozen=True):
    """A part of the day ("morning"), with "early", "middle" or "late" where that was said."""

    part: str
    shade: str = ""
    alone: bool = False
    first: int = 0
    last: int = 0
    start: int = 0
    end: int = 0


def said(tokens: Sequence[Token], role: str) -> int | str | None:
    """The first value of a role among tokens."""
    for token in tokens:
        if role in token.values:
            return token.values[role]
    return None


def count(tokens: Sequence[Token]) -> float | None:
    """The number that a run of figures and number words gives: "twenty-four", "2.5", "mil"."""
    whole, current, seen = 0, 0, False
    for token in tokens:
        if token.letter in "1#Y9":
            current, seen = current + int(token.text), True
        elif token.letter == "p":
            return float(token.text.replace(",", ".")) if token.text.count(".") < 2 else None
        elif "number" in token.values or "ordinal" in token.values:
            value = int(token.values.get("number", token.values.get("ordinal", 0)))
            whole, current = _with(whole, current, value)
            seen = True
    return whole + current if seen else None


def _with(whole: int, current: int, value: int) -> tuple[int, int]:
    """One more number word: hundreds and thousands multiply, French four-twenty too."""
    if value == 1000:
        return whole + max(current, 1) * 1000, 0
    if value == 100:
        return whole, max(current, 1) * 100
    if value == 20 and current % 100 == 4:
        return whole, current - 4 + 80
    if 13 <= current <= 20 and value >= 10:  # "nineteen ninety", a year in two halves
        return whole + current * 100, value
    return whole, current + value


def last_weekday(today: date, weekday: int, ago: int = 0) -> date:
    """The latest day with this weekday that is at least `ago` days before today."""
    latest = today - timedelta(days=ago)
    return latest - timedelta(days=(latest.weekday() - weekday) % 7)


def day_or_none(year: int, month: int, day: int) -> date | None:
    """The date, or None where the calendar has no such day."""
    try:
        return date(year, month, day)
    except ValueError:
        return None
