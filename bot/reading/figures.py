"""Days written in figures: which number is the day, which the month, which the year.

The programme's order decides; where it gives no day and another order does, that one is taken
and said. A day that no order gives is "no_such_date".
"""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

from bot.reading.pieces import Day, Frame, day_or_none

OLDEST_SHORT_YEAR = 80
"""A year of two figures is at most so many years back: '50 said in 2015 is 1950, and 1.10.30
said in 2024 is no date at all but the number of a version or a chapter."""

_ORDERS = {"DMY": "DMY", "MDY": "MDY", "YMD": "DMY"}
"""How day and month stand before a year; a programme of year-month-day writes the rest as DMY."""


def full_year(year: int, frame: Frame) -> int | None:
    """The year that two figures mean: this one or an earlier one, at most 80 years back."""
    year += frame.today.year // 100 * 100
    if year > frame.today.year:
        year -= 100
    return year if year >= frame.today.year - OLDEST_SHORT_YEAR else None


def figures(text: str, frame: Frame) -> Day | None:
    """A day in figures with its year: 31/10/1974, 2014-12-28, 26. 10.21, 20140511."""
    numbers = re.findall(r"\d+", text)
    if len(numbers) == 1:
        numbers = [text[:4], text[4:6], text[6:]]
    if len(numbers[0]) == 4:
        year, month, day = (int(n) for n in numbers)
        return _pick(((year, month, day), (year, day, month)), ("", "day before month"))
    first, second = int(numbers[0]), int(numbers[1])
    if len(numbers[2]) == 4:
        return _either(int(numbers[2]), first, second, frame)
    if frame.order == "YMD":
        year_first = full_year(first, frame)
        if year_first is not None and (found := day_or_none(year_first, second, int(numbers[2]))):
            return Day((found,), assumed=("year before month",))
    short = full_year(int(numbers[2]), frame)
    return None if short is None else _either(short, first, second, frame)


def _either(year: int, first: int, second: int, frame: Frame) -> Day:
    """Day and month in the programme's order; the other order where that gives no day."""
    dmy, mdy = (year, second, first), (year, first, second)
    here, there = (dmy, mdy) if _ORDERS[frame.order] == "DMY" else (mdy, dmy)
    names = ("day before month", "month before day")
    if here is mdy:
        names = (names[1], names[0])
    open_both = first <= 12 and second <= 12 and first != second
    return _pick((here, there), (names[0] if open_both else "", names[1]))


def _pick(readings: tuple[tuple[int, int, int], ...], names: tuple[str, ...]) -> Day:
    for reading, name in zip(readings, names, strict=True):
        if found := day_or_none(*reading):
            return Day((found,), assumed=(name,) if name else ())
    return Day(why="no_such_date")


def day_and_month(text: str, frame: Frame) -> Day | None:
    """Day and month in figures without a year, 8/10: the latest such day that is not to come."""
    first, second = (int(n) for n in text.split("/"))
    mdy = frame.order in ("MDY", "YMD")
    # "Md" in year-month-day countries is month before day (CLDR 'Md' of ja, hu, sv).
    for month, day in (
        ((first, second), (second, first)) if mdy else ((second, first), (first, second))
    ):
        if found := latest(frame, month, day):
            return Day((found,), assumed=("no year said",))
    return Day(why="no_such_date") if max(first, second) <= 31 and min(first, second) >= 1 else None


def latest(frame: Frame, month: int, day: int) -> date | None:
    """The last day of this month and number that is not after today; 29 February goes back to
    a leap year."""
    for year in range(frame.today.year, frame.today.year - 9, -1):
        found = day_or_none(year, month, day)
        if found and found <= frame.today:
            return found
        if found is None and (month, day) != (2, 29):
            return None
    return None


def week_or_ordinal(text: str, frame: Frame) -> Day | None:
    """ISO 8601 week dates (2026-W45-7), and ordinal dates (2026-312) of this year and the last."""
    numbers = [int(n) for n in re.findall(r"\d+", text)]
    try:
        if "w" in text:
            week = re.fullmatch(r"(\d{4})-?w(\d\d)-?(\d)", text)
            return Day((date.fromisocalendar(*(int(g) for g in week.groups())),)) if week else None
        year, ordinal = numbers
        if not frame.today.year - 1 <= year <= frame.today.year:
            return None
        found = date(year, 1, 1) + timedelta(days=ordinal - 1)
    except (ValueError, TypeError):
        return None
    return Day((found,)) if ordinal >= 1 and found.year == year else None


def moment(text: str, frame: Frame) -> Day:
    """An ISO 8601 day and time; with an offset it is brought into the programme's zone."""
    written = re.sub(r" +(?=[-+Z])", "", text.upper().replace(",", "."))
    try:
        at = datetime.fromisoformat(written)
        at = at.replace(tzinfo=frame.zone) if at.tzinfo is None else at.astimezone(frame.zone)
    except (ValueError, OverflowError):
        return Day(why="no_such_date")
    at = at.replace(second=0, microsecond=0)
    return Day((at.date(),), instant=(at, at + timedelta(minutes=1)))
