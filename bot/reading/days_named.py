"""Days named by their month, or by their number in one: "12th of November", "the 27th", "third
Tuesday of September 2014". No year is the latest such day, an impossible one is said to be so.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta

from msgspec.structs import replace

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


def one_of_two(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "from 20 to 22 Nov", "Nov 20 and 21", "20/21 Nov": one animal, two days.
    In "2 on 12 Nov" the first number counts."""
    at = next((i for i, t in enumerate(tokens) if i and t.letter in "-MRjf"), 0)
    if tokens[at].letter == "f" and tokens[at].values.get("mark") != "until":
        day = named(tokens[at + 1 :], frame)
        return replace(day, first=at + 1) if day else None
    figures = [n for t in tokens if t.letter in "1#OE" for n in re.findall(r"\d+", t.text)]
    month = int(said(tokens, "month") or 0)
    found = tuple(d for d in (latest(frame, month, int(n)) for n in figures) if d)
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
    if any(t.letter == "x" for t in year_words):
        return Day(why="in_the_future")
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
    if said(tokens, "unit") == "year":  # "of last year"
        return frame.today.year - any(t.letter == "l" for t in tokens)
    number = count([t for t in tokens if t.letter in "Y#nN"])
    if number is None:
        return None
    if number < 100:
        return full_year(int(number), frame)
    return int(number) if number >= 1900 else None


def nth(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "third Tuesday of September 2014", "last day of October", "1st Friday of last month"."""
    back = 0
    if tokens[1].letter == "M":  # "second to last day of October"
        back = (_which(tokens[0]) or 1) - 1
        tokens = tokens[next(i for i, t in enumerate(tokens) if t.letter == "l") :]
    which, rest = _which(tokens[0]), tokens[2:]
    weekday, month = said(tokens, "weekday"), said(rest, "month")
    if weekday is None and said(tokens[1:2], "unit") != "day":
        return None
    if any(t.letter == "x" for t in rest):
        return Day(why="in_the_future")
    year, unit = _year(rest, frame), said(rest, "unit")
    if month is None and unit != "month":
        return _nth_of_year(year, weekday, which)
    number = int(month or frame.today.month)
    if month is None and any(t.letter == "l" for t in rest):
        before = frame.today.replace(day=1) - timedelta(days=1)
        year, number = before.year, before.month
    found = _nth_day(year or frame.today.year, number, weekday, which)
    if found and found > frame.today and year is None:
        found = _nth_day(frame.today.year - 1, number, weekday, which)
    if found and back:
        found -= timedelta(days=back * (1 if weekday is None else 7))
    return Day((found,)) if found else Day(why="no_such_date")


def _which(token: Token) -> int | None:
    """3 of "third" and of "3rd"; None of "last"."""
    if token.letter == "O":
        return int(re.findall(r"\d+", token.text)[0])
    ordinal = token.values.get("ordinal")
    return None if ordinal is None else int(ordinal)


def _nth_of_year(year: int | None, weekday: object, which: int | None) -> Day | None:
    """ "first day of 2009", "last Sunday of last year"; only the first and the last are counted."""
    if year is None or which not in (1, None):
        return None
    found = _nth_day(year, 12 if which is None else 1, weekday, which)
    return Day((found,)) if found else None


def nth_alone(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "second Sunday": of this month, or the latest of several; asked where they differ."""
    number = _which(tokens[0]) or 0
    if number > 5:
        return day_of_month(tokens, frame)
    weekday = int(said(tokens, "weekday") or 0)
    near = last_weekday(frame.today, weekday)
    of_month = _nth_day(frame.today.year, frame.today.month, weekday, number)
    if of_month == near:
        return Day((near,))
    past = (of_month,) if of_month and of_month <= frame.today else ()
    return Day((*past, near), why="two_readings")


def _nth_day(year: int, month: int, weekday: object, which: int | None) -> date | None:
    """The nth day or weekday of a month; which None counts from its end."""
    last = date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
    if which is None:
        return last if weekday is None else last_weekday(last, int(str(weekday)))
    first = date(year, month, 1)
    step = timedelta(days=which - 1)
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
    if any(t.letter == "x" for t in tokens):
        return Day(why="in_the_future")
    if any(t.letter == "l" for t in tokens):
        month = (month - timedelta(days=1)).replace(day=1)
    found = day_or_none(month.year, month.month, number)
    if found is None:
        return Day(why="no_such_date")
    return Day((found,)) if found <= frame.today else Day(why="in_the_future")


def two_nths(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the 21st or 22nd": one animal, two days."""
    days = (day_of_month([t], frame) for t in tokens if t.letter == "O")
    found = tuple(d.days[0] for d in days if d is not None)
    return Day(found, why="two_days") if len(found) == 2 else None


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
