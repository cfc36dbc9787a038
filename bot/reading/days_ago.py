"""Days counted back from the text's own time: "3 days ago", "hace dos horas", "2 Thursdays back".

Days and weeks give a day; hours and minutes a span as wide as the unit they were said in, kept
on its day; months and years, and "a few", only a run of days.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

from msgspec.structs import replace

from bot.reading.pieces import Day, Frame, Token, count, last_weekday, said

_UNIT_DAYS = {"day": 1, "night": 1, "week": 7, "fortnight": 14}
_UNIT_MINUTES = {"second": 1, "minute": 1, "hour": 60}
_MINUTES_OF = {**_UNIT_MINUTES, **{unit: 1440 * days for unit, days in _UNIT_DAYS.items()}}


def ago(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "3 days ago", "hace dos horas", "couple of hours back", "2 Thursdays ago"."""
    amounts, start = [], 0
    for i, token in enumerate(tokens):
        if i == start and token.letter == "j":
            start = i + 1  # "a week and two days"
        if "unit" in token.values or "weekday" in token.values:
            amounts.append((_amount(tokens[start:i]), token))
            start = i + 1
    if not amounts:
        return None
    if any(t.letter in "rv" for t in tokens[start:]):  # "an hour and a half"
        amount, unit = amounts[-1]
        amounts[-1] = (amount + 0.5, unit)
    if len(amounts) == 1:
        about = any(t.letter in "~V" for t in tokens)
        few = any(t.letter == "w" for t in tokens) or _bare_plural(tokens)
        if any(t.letter == "V" for t in tokens) and _is_days(amounts[0][1]):
            return _more_or_less(int(amounts[0][0]), amounts[0][1], frame)
        return _back(amounts[0][0], amounts[0][1], about, few, frame)
    units = [str(t.values.get("unit", "")) for _, t in amounts]
    if all(u in _UNIT_DAYS for u in units):
        days = sum(int(a) * _UNIT_DAYS[u] for (a, _), u in zip(amounts, units, strict=True))
        return single(frame.today, days)
    if not all(u in _MINUTES_OF for u in units):
        return None
    minutes = sum(a * _MINUTES_OF[u] for (a, _), u in zip(amounts, units, strict=True))
    whole = all(u in _UNIT_MINUTES for u in units)  # not "1 day 2 hours ago"
    return minutes_back(minutes, 15 if whole else 60, frame)


def same_day_back(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "this day last week", "today week ago": the same weekday, so many weeks back."""
    day = next(t.values["day"] for t in tokens if t.letter == "D")
    if day not in ("0", "-1") or said(tokens, "unit") != "week":
        return None
    return single(frame.today, 7 - int(day))


def part_before_last(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the evening before last": that of the day before yesterday."""
    return single(frame.today, 2, str(said(tokens, "part")))


def _is_days(unit: Token) -> bool:
    return str(unit.values.get("unit", "")) in _UNIT_DAYS


def _more_or_less(amount: int, unit: Token, frame: Frame) -> Day | None:
    """ "over 3 days ago", "less than a week ago": no one day, but those around it."""
    days = amount * _UNIT_DAYS[str(unit.values["unit"])]
    if days > 4000:
        return None
    slack = max(2, days // 3)
    return run(frame.today - timedelta(days=days + slack), 2 * slack + 1)


def either_ago(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2 or 3 days ago", "a day or two ago": from the one to the other."""
    at = next(i for i, t in enumerate(tokens) if t.letter in _EITHER)
    days = _UNIT_DAYS.get(str(said(tokens, "unit")))
    if days is None:
        return None
    ends = sorted(int(_amount(side)) * days for side in (tokens[:at], tokens[at + 1 :]))
    return run(frame.today - timedelta(days=ends[1]), ends[1] - ends[0] + 1)


_EITHER = "-R/MA"
"""What stands between the two ends: "2-3", "2 or 3", "2/3", "2 to 3", "2 à 3" (à is "at")."""


def hours_ago(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2h ago", "il y a 2 h": the figure and its hours stand in one token."""
    figure = next(t.text for t in tokens if t.letter == "H")
    hours = int(re.findall(r"\d+", figure)[0])
    about = any(t.letter in "~V" for t in tokens)
    return minutes_back(60 * hours, 60 if about else 30, frame)


def _bare_plural(tokens: Sequence[Token]) -> bool:
    """ "days ago", "semanas atrás", "hace unos días": several, and nobody says how many."""
    unit = next(t for t in tokens if t.letter in "uv" or "weekday" in t.values)
    return unit.text.endswith("s") and not any(t.letter in _COUNT for t in tokens)


_COUNT = "1#9nNpzrv"


def _amount(tokens: Sequence[Token]) -> float:
    letters = "".join(t.letter for t in tokens)
    whole = tokens[: letters.index("j")] if "j" in letters else tokens  # "three and a half"
    number = count([t for t in whole if t.letter in "1#9nNpz"])
    half = any(t.letter in "rv" for t in tokens)
    if half:
        return 0.5 if number in (None, 1) else float(number or 0) + 0.5
    return 1.0 if number is None else float(number)


def _back(amount: float, unit: Token, about: bool, few: bool, frame: Frame) -> Day | None:
    if "weekday" in unit.values:
        weekday = int(unit.values["weekday"])
        return single(last_weekday(frame.today, weekday, 1), 7 * (int(amount) - 1))
    name = str(unit.values["unit"])
    if name in _UNIT_MINUTES:
        size = _UNIT_MINUTES[name]
        if few:
            return minutes_back(3.5 * size, 1.5 * size, frame)
        return minutes_back(amount * size, size / 2 * (2 if about else 1), frame)
    if name in _UNIT_DAYS and amount == int(amount):
        size = _UNIT_DAYS[name]
        if few:
            return run(frame.today - timedelta(days=5 * size), 4 * size - size + 1)
        if about and size > 1:
            return run(frame.today - timedelta(days=int(amount) * size + 2), 5)
        return single(frame.today, int(amount) * size, "night" if name == "night" else "")
    return _long_back(amount, name, frame)


def _long_back(amount: float, unit: str, frame: Frame) -> Day | None:
    """Months and years ago: a count so coarse fixes no day, so a quarter of the unit each way."""
    length = {"month": 30.44, "year": 365.25}.get(unit)
    if length is None or amount > 100:
        return None
    middle = frame.today - timedelta(days=round(amount * length))
    slack = round(length / 4)
    return run(middle - timedelta(days=slack), 2 * slack + 1)


def minutes_back(minutes: float, slack: float, frame: Frame) -> Day | None:
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
    return at.astimezone(UTC)


def single(today: date, back: int, part: str = "") -> Day | None:
    try:
        return Day((today - timedelta(days=back),), part=part)
    except OverflowError:
        return None


def run(first: date, days: int) -> Day | None:
    return Day((first,), until=first + timedelta(days=days))


def before(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2 days before yesterday", "a week before last Saturday"."""
    at = next(i for i, t in enumerate(tokens) if t.letter in "ba")
    base = day_word(tokens[-1:], frame) if tokens[-1].letter == "D" else None
    if tokens[-1].letter in "dy":
        base = Day((last_weekday(frame.today, int(tokens[-1].values["weekday"]), 1),))
    unit = str(said(tokens[:at], "unit"))
    if str(tokens[-1].values.get("day", "")).endswith("now"):
        return ago(tokens[:at], frame)  # "20 seconds before now"
    if tokens[at].letter == "a" and _UNIT_DAYS.get(unit, 1) == 1:
        return ago(tokens[: at + 1], frame)  # "2 days ago now"
    if base is None or unit not in _UNIT_DAYS or base.days[0] > frame.today:
        return None
    return single(base.days[0], int(_amount(tokens[: at - 1])) * _UNIT_DAYS[unit])


def ahead(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return Day(why="in_the_future")


def day_word(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "yesterday", "last night", "anteayer", "now"."""
    offset, _, part = str(tokens[-1].values["day"]).partition(" ")
    found = frame.today + timedelta(days=int(offset))
    if part in ("now", "just"):
        now = minutes_back(0, 60, frame)
        return replace(now, weak=part == "now") if now else None
    return Day((found,), part=part) if found <= frame.today else Day(why="in_the_future")
