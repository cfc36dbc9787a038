"""PURE. The roster as a staff.csv: the columns that the import reads, in its own notations.

Read back, it gives the same people; no cell is taken for a formula by a spreadsheet.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import groupby

import phonenumbers

from bot.fieldwork.duty import WHOLE_DAY
from bot.fieldwork.laboratory import table_text
from bot.folder.staff import DAYS, Member

COLUMNS = (
    *("id", "name", "role", "phone", "lat", "lon", "reach_km", "days", "hours", "leave"),
    *("on_call", "on_call_hours", "fetches", "whole_carcase", "channel", "most_jobs", "off_duty"),
)


def roster_csv(members: Iterable[Member], country: str) -> str:
    """The people as CSV text; numbers of `country` are written as they are dialled there."""
    return table_text(COLUMNS, (_row(member, country) for member in members))


def days_words(days: Iterable[int]) -> str:
    """ "mon-fri sun": weekdays from Monday = 0, neighbours joined from three on."""
    return " ".join(
        f"{DAYS[run[0]]}-{DAYS[run[-1]]}" if len(run) > 2 else " ".join(DAYS[d] for d in run)
        for run in _runs(sorted(set(days)))
    )


def hours_words(start: int, end: int) -> str:
    """ "07:00-18:30" of minutes after midnight; "" is the whole day."""
    return "" if (start, end) == (0, WHOLE_DAY) else f"{clock_words(start)}-{clock_words(end)}"


def clock_words(minute: int) -> str:
    """ "07:05" of minutes after midnight; 1440 is "24:00"."""
    return f"{minute // 60:02}:{minute % 60:02}"


def leave_words(leave: Iterable[tuple[date, date]]) -> str:
    """ "2026-12-20..2027-01-05; 2027-02-01": the first and the last day of each."""
    return "; ".join(
        first.isoformat() if first == last else f"{first.isoformat()}..{last.isoformat()}"
        for first, last in leave
    )


def national(number: str, country: str) -> str:
    """An E.164 number as it is dialled in a country, with its plus where it is another's."""
    parsed = phonenumbers.parse(number)
    own = phonenumbers.country_code_for_region(country) == parsed.country_code
    form = phonenumbers.PhoneNumberFormat
    return phonenumbers.format_number(parsed, form.NATIONAL if own else form.INTERNATIONAL)


def _row(m: Member, country: str) -> tuple[str, ...]:
    # Written in full even for a whole day, which an empty cell would not mean here.
    calls = f"{clock_words(m.call_from)}-{clock_words(m.call_to)}" if m.on_call else ""
    return (
        *(m.id, m.name, m.role, national(m.number, country), _figure(m.lat)),
        *(
            _figure(m.lon),
            _figure(m.reach_km),
            days_words(m.days),
            hours_words(m.from_minute, m.to_minute),
        ),
        *(leave_words(m.leave), days_words(m.on_call), calls, "; ".join(m.fetches)),
        *("yes" if m.whole_carcase else "", m.channel, str(m.most_jobs or "")),
        "yes" if m.off_duty else "",
    )


def _runs(days: list[int]) -> list[list[int]]:
    """Neighbouring days together."""
    grouped = groupby(enumerate(days), key=lambda pair: pair[1] - pair[0])
    return [[day for _, day in run] for _, run in grouped]


def _figure(number: float) -> str:
    """A number in full, since it is read back."""
    return repr(float(number)).removesuffix(".0")
