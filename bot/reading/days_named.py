"""Days named by their month, or by their number in one: "12th of November", "the 27th", "third
Tuesday of September 2014". No year is the latest such day, an impossible one is said to be so.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta

from bot.reading.figures import full_year, latest
from bot.reading.pieces import Day, Frame, Token, count, day_or_none, last_weekday, said

DAY_NUMBER = "(?:N[-j]?[nov]|N(?![-j]?[nov])|[1#Oonvz])"
BETWEEN = "[.,/cTL-]{0,2}"
"""What may stand between a day and its month, in the letters of the grammar."""

_DAY_AHEAD = re.compile(BETWEEN + DAY_NUMBER)


def several(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "10 - 12 June": one animal, two days."""
    month = int(said(tokens, "month") or 0)
    ends = [int(t.text) for t in tokens if t.letter in "1#"]
    found = tuple(d for d in (latest(frame, month, n) for n in ends) if d)
    return Day(found, why="two_days" if len(found) == 2 else "no_such_date")


def named(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """Day, month and perhaps year, in any order: "12th of November", "Nov 12, 2011"."""
    at = next(i for i, t in enumerate(tokens) if t.letter in "mzy" and "month" in t.values)
    month = int(tokens[at].values["month"])
    before, after = tokens[:at], tokens[at + 1 :]
    if before and before[0].letter == "Y":
        day, year_words = _day_number(after), before
    elif (day := _day_number(before)) is not None:
        year_words = after
    else:
        cut = _day_ends(after)
        day, year_words = _day_number(after[:cut]), after[cut:]
    return None if day is None else _dated(month, day, _year(year_words, frame), frame)


def _dated(month: int, day: int, year: int | None, frame: Frame) -> Day | None:
    if year is None:
        found = latest(frame, month, day)
        return Day((found,), assumed=("no year said",)) if found else Day(why="no_such_date")
    exact = day_or_none(year, month, day)
    return Day((exact,)) if exact else Day(why="no_such_date")


def _day_ends(tokens: Sequence[Token]) -> int:
    """Where the day's own words end after a month: "March twenty-fourth 2015"."""
    letters = "".join(t.letter for t in tokens)
    m = _DAY_AHEAD.match(letters)
    return m.end() if m else 0


def _day_number(tokens: Sequence[Token]) -> int | None:
    figure = next((t for t in tokens if t.letter in "1#O"), None)
    if figure is not None:
        return int(re.findall(r"\d+", figure.text)[0])
    number = count([t for t in tokens if t.letter in "nNovz"])
    return None if number is None or not 1 <= number <= 31 else int(number)


def _year(tokens: Sequence[Token], frame: Frame) -> int | None:
    number = count([t for t in tokens if t.letter in "Y#nN"])
    if number is None:
        return None
    if number < 100:
        return full_year(int(number), frame)
    return int(number) if number >= 1900 else None


def nth(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "third Tuesday of September 2014", "last day of October"."""
    which = said(tokens[:1], "ordinal")
    weekday, month = said(tokens, "weekday"), said(tokens[2:], "month")
    if weekday is None and said(tokens[1:2], "unit") != "day":
        return None
    if month is None and said(tokens[2:], "unit") != "month":
        return None
    number = int(month or frame.today.month)
    year = _year([t for t in tokens[2:] if t.letter in "Y"], frame) or frame.today.year
    if month is None and any(t.letter == "l" for t in tokens[2:]):
        year, number = (year, number - 1) if number > 1 else (year - 1, 12)
    found = _nth_day(year, number, weekday, which)
    if found and found > frame.today and tokens[-1].letter != "Y":
        found = _nth_day(year - 1, number, weekday, which)
    return Day((found,)) if found else Day(why="no_such_date")


def _nth_day(year: int, month: int, weekday: object, which: object) -> date | None:
    """The nth day or weekday of a month; which None counts from its end."""
    last = date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
    if which is None:
        return last if weekday is None else last_weekday(last, int(str(weekday)))
    first = date(year, month, 1)
    step = timedelta(days=int(str(which)) - 1)
    if weekday is not None:
        step = timedelta(days=(int(str(weekday)) - first.weekday()) % 7 + 7 * step.days)
    return first + step if (first + step).month == month else None


def nth_word(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the fourteenth"; the first nine are said of pigs and lumps too, and are left alone."""
    number = _day_number(tokens)
    return day_of_month(tokens, frame) if number is not None and number > 9 else None


def of_this_month(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the 20th of last month", "el 3 de este mes"."""
    number = _day_number(tokens)
    if number is None or said(tokens, "unit") != "month":
        return None
    month = frame.today.replace(day=1)
    if any(t.letter == "l" for t in tokens):
        month = (month - timedelta(days=1)).replace(day=1)
    found = day_or_none(month.year, month.month, number)
    if found is None:
        return Day(why="no_such_date")
    return Day((found,)) if found <= frame.today else Day(why="in_the_future")


def day_of_month(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the 27th", "le 12": the latest such day. With a weekday, that has to be it."""
    number = _day_number(tokens)
    if number is None or not 1 <= number <= 31:
        return None
    month = frame.today.replace(day=1)
    for _ in range(3):
        found = day_or_none(month.year, month.month, number)
        if found and found <= frame.today:
            weekday = said(tokens, "weekday")
            if weekday is not None and found.weekday() != weekday:
                near = last_weekday(frame.today, int(weekday), 1)
                return Day((found, near), why="parts_disagree")
            return Day((found,), assumed=("no month said",))
        month = (month - timedelta(days=1)).replace(day=1)
    return None
