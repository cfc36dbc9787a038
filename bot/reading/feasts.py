"""Days known by a name: fixed feasts, and those that hang on Easter.

Only days that are the same wherever the name is used stand in the calendar files; the name
without a year is the latest such day, a name of several days ("Easter") is a run of them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta

from bot.reading.figures import full_year, latest
from bot.reading.pieces import Day, Frame, Token, count, day_or_none, said

_RULE = re.compile(r"(?:(\d\d)-(\d\d)|easter ?([+-]\d+)?)(?: from (-?\d) to (\d))?")

_EARLIEST_EASTER = 1583


def rule_is_known(rule: str) -> bool:
    """Whether a calendar file's key says a day: "12-25", "easter -2", "easter from -2 to 1"."""
    m = _RULE.fullmatch(rule)
    return m is not None and (m[1] is None or day_or_none(2024, int(m[1]), int(m[2])) is not None)


def easter(year: int) -> date:
    """Easter Sunday of the Gregorian calendar, by the rule printed anonymously in Nature of
    20 April 1876 (Meeus, Astronomical Algorithms, chapter 8)."""
    century, of_century = divmod(year, 100)
    leaps, rest = divmod(century, 4)
    correction = (century - (century + 8) // 25 + 1) // 3
    epact = (19 * (year % 19) + century - leaps - correction + 15) % 30
    quarter, left = divmod(of_century, 4)
    weekday = (32 + 2 * rest + 2 * quarter - epact - left) % 7
    shift = (year % 19 + 11 * epact + 22 * weekday) // 451
    month, day = divmod(epact + weekday - 7 * shift + 114, 31)
    return date(year, month, day + 1)


def _on(rule: re.Match[str], year: int) -> date | None:
    if rule[1]:
        return day_or_none(year, int(rule[1]), int(rule[2]))
    if year < _EARLIEST_EASTER:
        return None
    return easter(year) + timedelta(days=int(rule[3] or 0))


def feast(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Boxing Day", "Easter Monday 2025", "Christmas Day last year"."""
    rule = _RULE.fullmatch(str(said(tokens, "feast")))
    if rule is None:
        return None
    if any(t.letter == "x" for t in tokens):
        return Day(why="in_the_future")
    year = _year(tokens, frame)
    found = _on(rule, year) if year else _latest(rule, frame)
    if found is None:
        return Day(why="no_such_date")
    assumed = () if year else ("no year said",)
    if rule[4] is None:
        return Day((found,), assumed=assumed)
    # A greeting names a feast too ("merry Christmas"), so that days in general are weak.
    first, until = (found + timedelta(days=int(n)) for n in (rule[4], int(rule[5]) + 1))
    return Day((first,), until=until, weak=True, assumed=assumed)


def _latest(rule: re.Match[str], frame: Frame) -> date | None:
    """The latest such day that is not to come."""
    if rule[1]:
        return latest(frame, int(rule[1]), int(rule[2]))
    found = _on(rule, frame.today.year)
    if found is not None and found > frame.today:
        return _on(rule, frame.today.year - 1)
    return found


def _year(tokens: Sequence[Token], frame: Frame) -> int | None:
    if said(tokens[1:], "unit") == "year":  # "last year"
        return frame.today.year - any(t.letter == "l" for t in tokens)
    figure = next((t for t in tokens if t.letter in "Y#"), None)
    if figure is None:
        return None
    return int(figure.text) if figure.letter == "Y" else full_year(int(figure.text), frame)


def feast_beside(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the day before Christmas", "the Saturday after Easter": counted from the feast."""
    day, rule = feast(tokens[-1:], frame), _RULE.fullmatch(str(said(tokens, "feast")))
    found = _latest(rule, frame) if rule else None
    if day is None or found is None:
        return day
    joint = tokens[-2] if tokens[-2].letter in "bf" else tokens[-3]
    before, after = joint.letter == "b", joint.values.get("mark") == "after"
    weekday = said(tokens, "weekday")
    if weekday is None:
        number = 1 if tokens[0].letter in "TLu" else count(tokens[:-1])
        if number is None or said(tokens, "unit") != "day" or not (before or after):
            return None
        step = timedelta(days=int(number))
        return Day((found - step if before else found + step,))
    if before:
        return Day((found - timedelta(days=(found.weekday() - int(weekday) - 1) % 7 + 1),))
    if after:
        return Day((found + timedelta(days=(int(weekday) - found.weekday() - 1) % 7 + 1),))
    agrees = day.until is not None or found.weekday() == weekday
    return day if agrees else Day((found,), why="parts_disagree")  # "Saturday, on Boxing Day"
