"""The grammar of days: rows of letters (calendar_words.py, date_scan.py) and what each means.

No language stands here. A row that matches but makes no sense gives None and is passed over;
a row that is meant as a day and cannot be one gives a Day with a reason.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from itertools import islice

from msgspec.structs import replace

from bot.reading.date_label import Labelled
from bot.reading.days_ago import (
    ago,
    ahead,
    before,
    day_word,
    either_ago,
    hours_ago,
    minutes_back,
    part_before_last,
    run,
    same_day_back,
    single,
)
from bot.reading.days_named import (
    BETWEEN,
    DAY_NUMBER,
    day_of_month,
    named,
    nth,
    nth_alone,
    nth_word,
    of_this_month,
    one_of_two,
    several,
    two_nths,
)
from bot.reading.feasts import feast, feast_beside
from bot.reading.figures import day_and_month, figures, moment, week_or_ordinal
from bot.reading.pieces import MOST, Day, Frame, Token, count, last_weekday, said

Build = Callable[[Sequence[Token], Frame], Day | None]

_NUM = "(?:n?w|N[-j]?n|[1#9nNpz])"
_MON = "[mzy]"
_WEEKDAY = "[dy]"
_WHICH = "(?:[tlx]u|u[lx])"
"""Which year, month or week: this, the last, the next."""
_YEAR = (
    f"(?:(?:[.,/'-]|c|cL){{0,2}}(?:Y|#(?![Cuagh])|[nN](?:-?[nNj]){{1,6}}(?![Cu]))|c?[TL]?{_WHICH})"
)
_NOT_COUNTED = "(?![CugH]|-[1#](?![C_]))"
"""What may not follow a day after its month: a thing counted, or the other end of a range."""
_AFTER = "(?=[.,;|fcsDtkAHbjiKGFBZqRV~-]|$)"
"""What may follow a bare number that is to be a day of the month: no noun, no other number."""


def _figures(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return figures(tokens[0].text, frame)


def _short(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return day_and_month(tokens[-1].text, frame)


def _iso(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return moment(tokens[0].text, frame)


def _week_date(tokens: Sequence[Token], frame: Frame) -> Day | None:
    return week_or_ordinal(tokens[0].text, frame)


def _unit_run(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "last week", "last weekend", "la semaine dernière", "this month": the run of days."""
    letters = "".join(t.letter for t in tokens)
    if "x" in letters:
        return Day(why="in_the_future")
    back = 2 if "b" in letters else 1 if "l" in letters else 0
    unit, today = str(said(tokens, "unit")), frame.today
    if letters[0] in "TL" and back == 0 and unit != "weekend":
        return None  # "the week" is not a date
    monday = today - timedelta(days=today.weekday() + 7 * back)
    if unit in ("week", "fortnight"):
        return run(monday - timedelta(days=7 if unit == "fortnight" else 0), 7)
    if unit == "weekend":
        saturday = last_weekday(today, 5, 2 if back and today.weekday() >= 5 else 0)
        return run(saturday - timedelta(days=7 if back == 2 else 0), 2)
    if unit == "hour" and back == 1:
        return minutes_back(30, 30, frame)
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
    return single(latest_one, 7) if week in (None, "week") else None


def _weeks_before(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2 weeks last Saturday", "a week yesterday": so many weeks before that day; a plain
    "2 weeks Saturday" is told as well of one to come."""
    unit, last = str(said(tokens, "unit")), tokens[-1]
    weeks = {"week": 7, "fortnight": 14}.get(unit)
    number = count([t for t in tokens if t.letter in "1#nN"])
    if weeks is None or number is None or number > 60:
        return None
    if last.letter == "D":
        day = day_word([last], frame)
        return single(day.days[0], int(number) * weeks) if day and day.days else None
    latest_one = last_weekday(frame.today, int(last.values["weekday"]), 1)
    found = latest_one - timedelta(days=int(number) * weeks)
    firm = any(t.letter == "l" for t in tokens)
    return Day((found,)) if firm else Day((found, latest_one), why="two_readings")


def _weekday_before(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "the Saturday before", "vendredi d'avant": before what, nobody says."""
    latest_one = last_weekday(frame.today, int(said(tokens, "weekday") or 0), 1)
    return Day((latest_one - timedelta(days=7), latest_one), why="two_readings")


def _week_open(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Saturday week": where it is used it looks ahead, so of a dead animal it is asked."""
    if said(tokens, "unit") != "week":
        return None
    latest_one = last_weekday(frame.today, int(said(tokens, "weekday") or 0), 1)
    return Day((latest_one - timedelta(days=7), latest_one), why="two_readings")


def _day_week_open(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Yesterday week" is a week before yesterday to some; of others it is asked."""
    day = day_word(tokens[:1], frame)
    if said(tokens, "unit") != "week" or day is None or day.why or tokens[0].values["day"] != "-1":
        return day
    return Day((day.days[0] - timedelta(days=7), day.days[0]), why="two_readings")


def _weekday(tokens: Sequence[Token], frame: Frame) -> Day | None:
    weekday = int(said(tokens, "weekday") or 0)
    letters = "".join(t.letter for t in tokens)
    latest_one = last_weekday(frame.today, weekday)
    if "x" in letters:
        return Day(why="in_the_future")
    if "l" in letters:
        return Day((last_weekday(frame.today, weekday, 1),))
    if "t" in letters:
        # "this Friday", said on a Monday, is the one to come as often as the one just gone.
        open_ = weekday > frame.today.weekday()
        return Day((latest_one,), why="two_readings" if open_ else "")
    if latest_one == frame.today:
        return Day((latest_one, latest_one - timedelta(days=7)), weekday=weekday)
    return Day((latest_one,), weekday=weekday)


def _day_before(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "2 day before yesterday": two animals on that day, or two days before it."""
    word = tokens[1]
    if word.values["day"] != "-2" or word.text != "day":
        return replace(day_word(tokens, frame) or Day(), first=1)
    found = frame.today - timedelta(days=1 + int(tokens[0].text))
    return Day((found, frame.today - timedelta(days=2)), why="two_readings")


def _perhaps_of_month(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "15 at 8:00": the 15th, or so many of something; asked, unless a day is said besides."""
    day = day_of_month(tokens, frame)
    return replace(day, why="two_readings", weak=True) if day else None


def _week_day_word(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "Friday the fifteenth"; in "Friday the one near the hut" only the weekday is a day."""
    return nth_word(tokens, frame) or _weekday(tokens, frame)


def _habit(tokens: Sequence[Token], frame: Frame) -> Day | None:
    """ "every Sunday" is no day."""
    return None


def _this_part(tokens: Sequence[Token], frame: Frame) -> Day | None:
    back = 1 if any(t.letter == "l" for t in tokens) else 0
    return Day((frame.today - timedelta(days=back),), part=str(said(tokens, "part")))


ROWS: tuple[tuple[str, str, Build], ...] = (
    ("iso", "I", _iso),
    ("week_date", "J", _week_date),
    ("figures", "X", _figures),
    # "4/5 of the lungs" counts, "4/5 of last year" is a day.
    ("short", f"(?<![-U])E(?![Cpu]|[,c]?{_MON}|c(?![TL]?{_WHICH}|[TL]?Y))", _short),
    ("fraction", "(?<![_n-])Q(?=[.,;|Dskt]|[fA](?!C)|$)", _short),
    ("several", f"{_MON}T?[1#]-[1#](?![1#C_u])|[1#]-[1#]c?{_MON}", several),
    (
        "one_of_two",
        f"E[,c]{{0,2}}{_MON}|[1#O](?:[MRj]|-?f-?)[TL]?[1#O][,c]{{0,2}}[TL]?{_MON}|{_MON}{BETWEEN}[1#O][-MRj][TL]?[1#O](?![CugHY_])",
        one_of_two,
    ),
    ("habit", "P[dyDSsu]", _habit),
    (
        "nth",
        f"(?:[ovO]M[TL]?)?[ovlO](?:{_WEEKDAY}|u)"
        f"(?:(?:[ci][TL]?|cc)(?:t?{_MON}[c,L]{{0,2}}Y?|{_WHICH}|u|Y)|t{_MON}Y?)",
        nth,
    ),
    ("nth_alone", f"[ovO]{_WEEKDAY}(?![lx])", nth_alone),
    ("dom_of_month", f"[TL]?[1#Oov]c(?:[TL]?{_WHICH}|[TL]u)", of_this_month),
    ("next_named", f"x(?:{_MON}{BETWEEN}{DAY_NUMBER}|{DAY_NUMBER}{BETWEEN}{_MON})", ahead),
    # An offset may stand between time and year: "Jan 02 15:04:05 -0700 2006".
    ("month_day_time_year", f"{_MON}{BETWEEN}[1#O],?A?k(?:[_,]|-4)?Y", named),
    ("month_dash", f"{_MON}-[1#O]-[#Y]", named),
    (
        "day_month",
        f"(?<![1#]-)(?!n{_MON}{BETWEEN}(?:[1#Oov]|N))(?:{DAY_NUMBER}){BETWEEN}{_MON}(?:{_YEAR})?",
        named,
    ),
    (
        "month_day",
        f"{_MON}{BETWEEN}{DAY_NUMBER}{_NOT_COUNTED}{_YEAR}"
        f"|{_MON}{BETWEEN}{DAY_NUMBER}{_NOT_COUNTED}(?!{BETWEEN}{_MON})",
        named,
    ),
    ("year_first", f"Y(?:[.,/c-])?{_MON}[.,/-]?[1#O]", named),
    (
        "in_week",
        f"{_WEEKDAY},?[ciTL]{{0,2}}(?:{_WHICH}|ut)|{_WHICH}[cf]?[TL]?{_WEEKDAY}",
        _in_week,
    ),
    ("week_more", f"{_WEEKDAY}(?:bl|ua)|nul{_WEEKDAY}", _week_more),
    ("weeks_before", f"{_NUM}u(?:l?{_WEEKDAY}|D)(?!a)", _weeks_before),
    ("same_day_back", "D(?:lu|ul|n?ua)", same_day_back),
    ("weekday_before", f"{_WEEKDAY}(?:cb|b(?=[.,;|]|$))", _weekday_before),
    ("feast_beside", f"(?:[TL]?{_NUM}?u|[TL]?{_WEEKDAY})[bf][TL]?W", feast_beside),
    ("feast", f"x?W(?:,?c?(?:Y|'#|c?[TL]?{_WHICH}))?", feast),
    ("week_ago_weekday", f"n?ua[cf]?{_WEEKDAY}", _week_open),
    ("week_open", f"{_WEEKDAY}u(?![ax])", _week_open),
    ("day_week_open", "Du(?![axlt])", _day_week_open),
    (
        "week_day_of_month",
        f"{_WEEKDAY}[,.]?[TL]?[1#](?!{BETWEEN}{_MON}|[icTL]{{0,2}}(?:t?s|D)|[-R][1#k]){_AFTER}"
        f"|{_WEEKDAY}[,.]?[TL]?O(?!{BETWEEN}{_MON}|[CugH]|c[TL]?[tlxu])",
        day_of_month,
    ),
    (
        "week_day_word",
        f"{_WEEKDAY}[,.]?[TL](?:N[-j]?[nov]|N(?![-j]?[nov])|[nov])(?!{BETWEEN}{_MON}|[Cug])",
        _week_day_word,
    ),
    ("before", f"{_NUM}u(?:c?b(?:D|l?{_WEEKDAY})|aD)", before),
    ("ahead_unit", f"{_NUM}[uv]x|i~?{_NUM}[uv]", ahead),
    ("week_before_last", "[TL]?ubl", _unit_run),
    (
        "ago",
        f"(?<![Y4])[~V]?(?:r?c?{_NUM}c?r?-?|{_NUM}jn?r|r)?(?:[uv](?:[,j]?{_NUM}[uv]|jn?[rv])?|S|{_WEEKDAY})a",
        ago,
    ),
    ("ago_before", f"h[~V]?(?:{_NUM}c?)?r?-?(?:[uvS]|{_WEEKDAY})(?:j{_NUM}u|j[rv])?", ago),
    ("either", f"~?{_NUM}u?[-R/M]{_NUM}u?a|h~?{_NUM}u?[-R/MA]{_NUM}u", either_ago),
    ("hours_ago", "[~V]?Ha|h[~V]?H", hours_ago),
    ("unit_run", "lu(?!c)|[tx]u|[TL]u(?![lx])|u[lx]", _unit_run),
    # A word that is a month as well ("mar") is a weekday only beside what shows it.
    ("weekday", "[ltx]?d[lx]?|[ltx]y|y[lx]|y(?=[,.]?[kHAs1#])", _weekday),
    ("before_phrase", "[1#]D", _day_before),
    ("day_word", "D", day_word),
    ("part_before_last", "[TL]?sbl", part_before_last),
    ("this_part", "[tl]e?s", _this_part),
    ("the_nth_word", f"(?:T(?:N[-j]?[ov]|o)|L(?:N[-j]?n|n))(?!{BETWEEN}{_MON}){_AFTER}", nth_word),
    ("two_nths", f"T?O[-RMj]T?O(?!{BETWEEN}{_MON}){_AFTER}", two_nths),
    (
        "the_nth",
        f"(?:TO|LO|Ll?u?[1#])(?!{BETWEEN}{_MON}|[-R]T?O){_AFTER}|(?<!c)T#(?=[.,;|Ak]|$)"
        f"|(?<=sc)(?:[TL]?u?#|u1)(?!{BETWEEN}{_MON}){_AFTER}"
        f"|(?<![_TLnoM])O{_AFTER}|(?<![TLnoM])O(?=[A,]{{0,2}}k)"
        f"|(?:(?<=k)|(?<=kf))T#{_AFTER}|(?<=kc)#{_AFTER}",
        day_of_month,
    ),
    (
        "perhaps_the_nth",
        "(?:(?<=k)|(?<=kf))T#(?=_)|(?:^|(?<=[.;|,fC]))#(?=[A,]{0,2}k)",
        _perhaps_of_month,
    ),
)

# No row begins with a mark, a verb or an unknown word, and most letters are one of these.
_GRAMMAR = re.compile(
    r"(?=[^_fCKGFBZ.,;|/'jbgM4kcAe-])(?:" + "|".join(f"(?:{row})()" for _, row, _ in ROWS) + ")"
)
_BUILD = dict(enumerate((build for _, _, build in ROWS), 1))


def days_said(text: Labelled, frame: Frame) -> list[Day]:
    """Every day that a labelled text speaks of, in order; of more than a dozen, the first."""
    found: list[Day] = []
    for m in islice(_GRAMMAR.finditer(text.letters), MOST):
        first, last = m.span()
        tokens = text.tokens(first, last)
        day = _BUILD[m.lastindex or 0](tokens, frame)
        if day is not None:
            if day.days and day.days[0] > frame.today:
                day = replace(day, days=(), why="in_the_future")
            skipped = day.first  # a builder may leave leading tokens out
            start, end = tokens[skipped].start, tokens[-1].end
            found.append(replace(day, first=first + skipped, last=last, start=start, end=end))
    return found
