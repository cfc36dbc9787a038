"""The grammar of days: rows of letters (calendar_words.py, date_scan.py) and what each means.

No language stands here. A row that matches but makes no sense gives None and is passed over;
a row that is meant as a day and cannot be one gives a Day with a reason.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from bot.reading.figures import day_and_month, figures, full_year, latest, moment, week_or_ordinal
from bot.reading.pieces import Day, Frame, Token, count, day_or_none, last_weekday, said

Build = Callable[[Sequence[Token], Frame], Day | None]

_NUM = "(?:n?w|N[-j]?n|[1#nNpz])"
_DOM = "(?:N[-j]?[nov]|[1#OonNvz])"
_MON = "[mzy]"
_WEEKDAY = "[dy]"
_SEP = "[.,/cTL-]{0,2}"
_YEAR = "(?:[.,/'-]|c|cL){0,2}(?:Y|#(?![Cuagh])|[nNj]{2,6})"
_AFTER = "(?=[].,;!|fcsDtkAHbjiKGF@-]|$)"
"""What may follow a bare number that is to be a day of the month: no noun, no other number."""


def _figures(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return figures(tokens[0].text, frame)


def _short(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return day_and_month(tokens[-1].text, frame)


def _iso(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return moment(tokens[0].text, frame)


def _week_date(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return week_or_ordinal(tokens[0].text, frame)


def _several(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "10 - 12 June": one animal, two days."""
    month = int(said(tokens, "month") or 0)
    ends = [int(t.text) for t in tokens if t.letter in "1#"]
    found = tuple(d for d in (latest(frame, month, n) for n in ends) if d)
    return Day(found, why="two_days" if len(found) == 2 else "no_such_date")


def _named(tokens: Sequence[Token], frame: Frame) -> Day | None:
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
    m = re.match(_SEP + _DOM, letters)
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
    return full_year(int(number), frame) if number < 100 else int(number)


def _nth(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "third Tuesday of September 2014", "last day of October"."""
    which = said(tokens[:1], "ordinal")
    weekday, month = said(tokens, "weekday"), said(tokens[2:], "month")
    if weekday is None and said(tokens[1:2], "unit") != "day":
        return None
    if month is None and said(tokens[2:], "unit") != "month":
        return None
    number = int(month or frame.today.month)
    year = _year([t for t in tokens[2:] if t.letter in "Y"], frame) or frame.today.year
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


# ------------------------------------------------------------------------------ counted back

_UNIT_DAYS = {"day": 1, "night": 1, "week": 7, "fortnight": 14}
_UNIT_MINUTES = {"second": 1, "minute": 1, "hour": 60}


def _ago(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "3 days ago", "hace dos horas", "couple of hours back", "2 Thursdays ago"."""
    amounts, start = [], 0
    for i, token in enumerate(tokens):
        if "unit" in token.values or "weekday" in token.values:
            amounts.append((_amount(tokens[start:i]), token))
            start = i + 1
    if any(t.letter in "rv" for t in tokens[start:]):  # "an hour and a half"
        amount, unit = amounts[-1]
        amounts[-1] = (amount + 0.5, unit)
    if len(amounts) == 1:
        about = any(t.letter == "~" for t in tokens)
        few = any(t.letter == "w" for t in tokens)
        return _back(amounts[0][0], amounts[0][1], about, few, frame)
    units = [str(t.values.get("unit", "")) for _, t in amounts]
    if all(u in _UNIT_DAYS for u in units):
        days = sum(int(a) * _UNIT_DAYS[u] for (a, _), u in zip(amounts, units, strict=True))
        return _single(frame.today, days)
    if all(u in _UNIT_MINUTES for u in units):
        minutes = sum(a * _UNIT_MINUTES[u] for (a, _), u in zip(amounts, units, strict=True))
        return _minutes_back(minutes, 15, frame)
    return None


def _amount(tokens: Sequence[Token]) -> float:
    number = count([t for t in tokens if t.letter in "1#nNpz"])
    half = any(t.letter in "rv" for t in tokens)
    if half:
        return 0.5 if number in (None, 1) else float(number or 0) + 0.5
    return 1.0 if number is None else float(number)


def _back(amount: float, unit: Token, about: bool, few: bool, frame: Frame) -> Day | None:
    if "weekday" in unit.values:
        weekday = int(unit.values["weekday"])
        return _single(last_weekday(frame.today, weekday, 1), 7 * (int(amount) - 1))
    name = str(unit.values["unit"])
    if name in _UNIT_MINUTES:
        size = _UNIT_MINUTES[name]
        if few:
            return _minutes_back(3.5 * size, 1.5 * size, frame)
        return _minutes_back(amount * size, size / 2 * (2 if about else 1), frame)
    if name in _UNIT_DAYS and amount == int(amount):
        size = _UNIT_DAYS[name]
        if few:
            return _run(frame.today - timedelta(days=5 * size), 4 * size - size + 1)
        if about and size > 1:
            return _run(frame.today - timedelta(days=int(amount) * size + 2), 5)
        return _single(frame.today, int(amount) * size, "night" if name == "night" else "")
    return _long_back(amount, name, frame)


def _long_back(amount: float, unit: str, frame: Frame) -> Day | None:
    """Months and years ago: a count so coarse fixes no day, so a quarter of the unit each way."""
    length = {"month": 30.44, "year": 365.25}.get(unit)
    if length is None or amount > 100:
        return None
    middle = frame.today - timedelta(days=round(amount * length))
    slack = round(length / 4)
    return _run(middle - timedelta(days=slack), 2 * slack + 1)


def _minutes_back(minutes: float, slack: float, frame: Frame) -> Day | None:
    """So long ago, with the width of the unit it was said in; kept on the day it falls on."""
    if minutes > 60 * 24 * 60:
        return None
    # Counted in UTC, since an hour back is an hour back also when the clocks change.
    centre = (_utc(frame.now) - timedelta(minutes=minutes)).astimezone(frame.zone)
    day = centre.date()
    low = (_utc(centre) - timedelta(minutes=slack)).astimezone(frame.zone)
    high = (_utc(centre) + timedelta(minutes=max(slack, 1))).astimezone(frame.zone)
    midnight = datetime(day.year, day.month, day.day, tzinfo=frame.zone)
    following = datetime.combine(day + timedelta(days=1), midnight.timetz())
    return Day((day,), instant=(max(low, midnight), min(high, following)))


def _utc(at: datetime) -> datetime:
    from datetime import UTC

    return at.astimezone(UTC)


def _single(today: date, back: int, part: str = "") -> Day | None:
    try:
        return Day((today - timedelta(days=back),), part=part)
    except OverflowError:
        return None


def _run(first: date, days: int) -> Day | None:
    return Day((first,), until=first + timedelta(days=days))


def _before(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2 days before yesterday", "a week before last Saturday"."""
    at = next(i for i, t in enumerate(tokens) if t.letter == "b")
    base = _day_word(tokens[-1:], frame) if tokens[-1].letter == "D" else None
    if tokens[-1].letter in "dy":
        base = Day((last_weekday(frame.today, int(tokens[-1].values["weekday"]), 1),))
    unit = str(said(tokens[:at], "unit"))
    if base is None or unit not in _UNIT_DAYS or base.days[0] > frame.today:
        return None
    return _single(base.days[0], int(_amount(tokens[: at - 1])) * _UNIT_DAYS[unit])


def _ahead(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return Day(why="in_the_future")


# --------------------------------------------------------------------------- weeks, weekdays


def _unit_run(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "last week", "last weekend", "la semaine dernière", "this month": the run of days."""
    letters = "".join(t.letter for t in tokens)
    if "x" in letters:
        return Day(why="in_the_future")
    back = 2 if "b" in letters else 1 if "l" in letters else 0
    unit, today = str(said(tokens, "unit")), frame.today
    monday = today - timedelta(days=today.weekday() + 7 * back)
    if unit in ("week", "fortnight"):
        return _run(monday - timedelta(days=7 if unit == "fortnight" else 0), 7)
    if unit == "weekend":
        saturday = last_weekday(today, 5, 2 if back and today.weekday() >= 5 else 0)
        return _run(saturday - timedelta(days=7 if back == 2 else 0), 2)
    if unit == "month":
        month = today.replace(day=1)
        for _ in range(back):
            month = (month - timedelta(days=1)).replace(day=1)
        return Day((month,), until=(month + timedelta(days=32)).replace(day=1))
    if unit == "year":
        return Day((date(today.year - back, 1, 1),), until=date(today.year - back + 1, 1, 1))
    return None


def _in_week(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Sunday of last week", "el lunes de esta semana"."""
    if said(tokens, "unit") != "week":
        return None
    letters = "".join(t.letter for t in tokens)
    back = 7 if "l" in letters else -7 if "x" in letters else 0
    monday = frame.today - timedelta(days=frame.today.weekday() + back)
    found = monday + timedelta(days=int(said(tokens, "weekday") or 0))
    return Day((found,)) if found <= frame.today else Day(why="in_the_future")


def _week_more(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Saturday before last", "a week last Saturday", "Saturday week ago"."""
    latest_one = last_weekday(frame.today, int(said(tokens, "weekday") or 0), 1)
    week = said(tokens, "unit")
    return _single(latest_one, 7) if week in (None, "week") else None


def _week_open(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Saturday week": where it is used it looks ahead, so of a dead animal it is asked."""
    if said(tokens, "unit") != "week":
        return None
    latest_one = last_weekday(frame.today, int(said(tokens, "weekday") or 0), 1)
    return Day((latest_one - timedelta(days=7), latest_one), why="two_readings")


def _weekday(tokens: Sequence[Token], frame: Frame) -> Day | None:
    weekday = int(said(tokens, "weekday") or 0)
    letters = "".join(t.letter for t in tokens)
    latest_one = last_weekday(frame.today, weekday)
    if "x" in letters:
        return Day(why="in_the_future")
    if "t" in letters or "l" in letters:
        return Day((last_weekday(frame.today, weekday, 1) if "l" in letters else latest_one,))
    if latest_one == frame.today:
        return Day((latest_one, latest_one - timedelta(days=7)), weekday=weekday)
    return Day((latest_one,), weekday=weekday)


def _day_word(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "yesterday", "last night", "anteayer", "now"."""
    offset, _, part = str(tokens[-1].values["day"]).partition(" ")
    found = frame.today + timedelta(days=int(offset))
    if part in ("now", "just"):
        now = _minutes_back(0, 60, frame)
        return replace(now, weak=part == "now") if now else None
    return Day((found,), part=part) if found <= frame.today else Day(why="in_the_future")


def _day_before(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2 day before yesterday": two animals on that day, or two days before it."""
    word = tokens[1]
    if word.values["day"] != "-2" or word.text != "day":
        return replace(_day_word(tokens, frame) or Day(), first=-1)
    found = frame.today - timedelta(days=1 + int(tokens[0].text))
    return Day((found, frame.today - timedelta(days=2)), why="two_readings")


def _this_part(tokens: Sequence[Token], frame: Frame) -> Day | None:
    back = 1 if any(t.letter == "l" for t in tokens) else 0
    return Day((frame.today - timedelta(days=back),), part=str(said(tokens, "part")))


def _day_of_month(tokens: Sequence[Token], frame: Frame) -> Day | None:
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


ROWS: tuple[tuple[str, str, Build], ...] = (
    ("iso", "I", _iso),
    ("week_date", "J", _week_date),
    ("figures", "X", _figures),
    ("short", "(?<![-])E(?![C.p]|u)", _short),
    ("several", f"{_MON}T?[1#]-[1#](?!#)|[1#]-[1#]c?{_MON}", _several),
    ("nth", f"[ovl](?:{_WEEKDAY}|u)(?:[ci][TL]?|cc)(?:{_MON}[c,L]{{0,2}}Y?|u)", _nth),
    (
        "day_month",
        f"(?<![-.])(?!n{_MON}{_SEP}(?:[1#Oov]|N))(?:{_DOM}){_SEP}{_MON}(?:{_YEAR})?",
        _named,
    ),
    (
        "month_day",
        f"{_MON}{_SEP}{_DOM}(?![CugH]|-[1#]){_YEAR}|{_MON}{_SEP}{_DOM}(?![CugH]|-[1#])",
        _named,
    ),
    ("year_first", f"Y(?:[.,/c-])?{_MON}[.,/-]?[1#O]", _named),
    (
        "in_week",
        f"{_WEEKDAY},?[ciTL]{{0,2}}(?:lu|ul|tu|ut|xu|ux)|(?:lu|tu|xu)c?{_WEEKDAY}",
        _in_week,
    ),
    ("week_more", f"{_WEEKDAY}(?:bl|ua)|nul{_WEEKDAY}", _week_more),
    ("week_ago_weekday", f"n?ua[cf]?{_WEEKDAY}", _week_open),
    ("week_open", f"{_WEEKDAY}u(?![ax])", _week_open),
    ("week_day_of_month", f"{_WEEKDAY}[,.]?[TL]?[1#O](?!{_SEP}{_MON}){_AFTER}", _day_of_month),
    ("before", f"{_NUM}uc?b(?:D|l?{_WEEKDAY})", _before),
    ("ahead_unit", f"{_NUM}[uv]x|i~?{_NUM}[uv]", _ahead),
    ("week_before_last", "ubl", _unit_run),
    (
        "ago",
        f"~?(?:r?c?{_NUM}c?r?-?|r)?(?:[uvS]|{_WEEKDAY})(?:[,j]?{_NUM}[uv]|jn?[rv])?a",
        _ago,
    ),
    ("ago_before", f"h~?(?:{_NUM}c?)?r?-?(?:[uvS]|{_WEEKDAY})(?:j{_NUM}u|j[rv])?", _ago),
    ("unit_run", "[ltx]u|u[lx]", _unit_run),
    # A word that is a month as well ("mar") is a weekday only beside what shows it.
    ("weekday", "[ltx]?d[lx]?|[ltx]y|y[lx]|y(?=[,.]?[kHAs1#])", _weekday),
    ("before_phrase", "[1#]D", _day_before),
    ("day_word", "D", _day_word),
    ("this_part", "[tl]e?s", _this_part),
    ("the_nth", f"(?:TO|LO|Lu?[1#])(?!{_SEP}{_MON}){_AFTER}|^O[.!]?$", _day_of_month),
)

_GRAMMAR = re.compile("|".join(f"(?P<{name}>{row})" for name, row, _ in ROWS))
_BUILD = {name: build for name, _, build in ROWS}


def days_said(letters: str, tokens: Sequence[Token], frame: Frame) -> list[Day]:
    """Every day that a labelled text speaks of, in order."""
    found: list[Day] = []
    for m in _GRAMMAR.finditer(letters):
        first, last = m.span()
        day = _BUILD[m.lastgroup or ""](tokens[first:last], frame)
        if day is not None:
            first -= day.first
            start, end = tokens[first].start, tokens[last - 1].end
            found.append(replace(day, first=first, last=last, start=start, end=end))
    return found
