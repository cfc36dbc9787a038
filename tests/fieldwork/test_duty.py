"""Who is on duty when, against the minute hand, over midnight and the clock's two changes.

The changes are those of the IANA time zone database for Australia/Melbourne in 2026: back on
the 5th of April at 16:00 UTC the day before, forward on the 4th of October at the same hour.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bot.fieldwork.duty import is_on_duty, next_duty, night_on_call, shift
from bot.programme import Member

MELBOURNE = ZoneInfo("Australia/Melbourne")


def on_duty(hours: str, days: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)) -> Member:
    start, end = (int(h) * 60 + int(m) for h, m in (p.split(":") for p in hours.split("-")))
    return Member("x", "X", "field", "+61491570156", -37, 147, 50, days, start, end)


def utc(month: int, day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("hours", "day", "start", "end"),
    [
        # An ordinary summer day and night, UTC+11.
        ("06:00-20:00", date(2026, 11, 25), utc(11, 24, 19), utc(11, 25, 9)),
        ("22:00-06:00", date(2026, 11, 25), utc(11, 25, 11), utc(11, 25, 19)),
        ("00:00-24:00", date(2026, 11, 25), utc(11, 24, 13), utc(11, 25, 13)),
        # The night on which the clock goes back is an hour longer.
        ("22:00-06:00", date(2026, 4, 4), utc(4, 4, 11), utc(4, 4, 20)),
        # The night on which it goes forward is an hour shorter.
        ("22:00-06:00", date(2026, 10, 3), utc(10, 3, 12), utc(10, 3, 19)),
        # 02:30 comes twice in April: a start is the first, an end the second.
        ("02:30-10:00", date(2026, 4, 5), utc(4, 4, 15, 30), utc(4, 5, 0)),
        ("20:00-02:30", date(2026, 4, 4), utc(4, 4, 9), utc(4, 4, 16, 30)),
        # 02:30 never comes in October: it counts by the clock before the change.
        ("02:30-10:00", date(2026, 10, 4), utc(10, 3, 16, 30), utc(10, 3, 23)),
        ("20:00-02:30", date(2026, 10, 3), utc(10, 3, 10), utc(10, 3, 16, 30)),
        # The whole of both odd days: 25 and 23 hours.
        ("00:00-24:00", date(2026, 4, 5), utc(4, 4, 13), utc(4, 5, 14)),
        ("00:00-24:00", date(2026, 10, 4), utc(10, 3, 14), utc(10, 4, 13)),
    ],
)
def test_a_shift_in_real_time(hours: str, day: date, start: datetime, end: datetime) -> None:
    member = on_duty(hours)
    assert shift(member, day, MELBOURNE) == (start, end)
    one_day = on_duty(hours, (day.weekday(),))
    assert is_on_duty(one_day, start, MELBOURNE)
    assert is_on_duty(one_day, end - timedelta(seconds=1), MELBOURNE)
    assert not is_on_duty(one_day, end, MELBOURNE)
    assert not is_on_duty(one_day, start - timedelta(seconds=1), MELBOURNE)
    assert next_duty(one_day, start - timedelta(days=3), MELBOURNE) == start


def test_the_night_belongs_to_the_day_on_which_it_begins() -> None:
    friday_night = on_duty("22:00-06:00", (4,))
    saturday_3am = datetime(2026, 11, 28, 3, tzinfo=MELBOURNE)
    assert is_on_duty(friday_night, saturday_3am, MELBOURNE)
    assert not is_on_duty(friday_night, saturday_3am - timedelta(days=1), MELBOURNE)


def test_next_duty() -> None:
    weekdays = on_duty("07:00-18:00", (0, 1, 2, 3, 4))
    friday_evening = datetime(2026, 11, 27, 18, tzinfo=MELBOURNE)
    monday = datetime(2026, 11, 30, 7, tzinfo=MELBOURNE)
    assert next_duty(weekdays, friday_evening, MELBOURNE) == monday
    assert next_duty(weekdays, monday, MELBOURNE) == monday
    assert next_duty(on_duty("07:00-18:00", ()), monday, MELBOURNE) is None


MINUTES = st.integers(0, 1440)
INSTANTS = st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 31), timezones=st.just(UTC))


@given(start=st.integers(0, 1439), end=MINUTES, days=st.sets(st.integers(0, 6)), at=INSTANTS)
def test_duty_is_what_the_minute_hand_says(
    start: int, end: int, days: set[int], at: datetime
) -> None:
    """Where no clock changes (UTC), against a rule on weekday and minute alone."""
    member = Member("x", "X", "field", "+61491570156", 0, 0, 1, tuple(days), start, end)
    minute, today, yesterday = at.hour * 60 + at.minute, at.weekday(), (at.weekday() - 1) % 7
    if start < end:
        expected = today in days and start <= minute < end
    else:
        expected = (today in days and minute >= start) or (yesterday in days and minute < end)
    assert is_on_duty(member, at, UTC) == expected


@given(
    start=st.integers(0, 47), end=st.integers(0, 48), days=st.sets(st.integers(0, 6)), at=INSTANTS
)
def test_next_duty_is_the_first_quarter_hour_on_duty(
    start: int, end: int, days: set[int], at: datetime
) -> None:
    """Brute force over eight days, with the clock of Melbourne."""
    member = Member("x", "X", "field", "+61491570156", 0, 0, 1, tuple(days), start * 30, end * 30)
    at = at.replace(minute=at.minute // 15 * 15, second=0, microsecond=0)
    quarters = (at + timedelta(minutes=15 * n) for n in range(8 * 96 + 8))
    first = next((q for q in quarters if is_on_duty(member, q, MELBOURNE)), None)
    assert next_duty(member, at, MELBOURNE) == first


HOLIDAY = ((date(2026, 12, 21), date(2027, 1, 3)),)


def at(day: date, clock: str) -> datetime:
    hour, minute = map(int, clock.split(":"))
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=MELBOURNE)


@pytest.mark.parametrize(
    ("when", "on"),
    [
        (at(date(2026, 12, 20), "23:30"), True),
        # The night that began before the leave is worked to its end.
        (at(date(2026, 12, 21), "05:59"), True),
        (at(date(2026, 12, 21), "06:00"), False),
        (at(date(2026, 12, 21), "22:00"), False),
        (at(date(2027, 1, 3), "23:59"), False),
        (at(date(2027, 1, 4), "05:00"), False),
        (at(date(2027, 1, 4), "22:00"), True),
    ],
)
def test_leave_takes_the_shifts_that_begin_on_its_days(when: datetime, on: bool) -> None:
    assert is_on_duty(replace(on_duty("22:00-06:00"), leave=HOLIDAY), when, MELBOURNE) is on


def test_next_duty_looks_past_the_leave() -> None:
    member = replace(on_duty("08:00-16:00", (0,)), leave=HOLIDAY)
    wait = next_duty(member, at(date(2026, 12, 14), "16:00"), MELBOURNE)
    assert wait == at(date(2027, 1, 4), "08:00")
    assert next_duty(replace(member, days=()), at(date(2026, 12, 14), "16:00"), MELBOURNE) is None


ON_CALL = replace(on_duty("08:00-16:00", (0, 1, 2, 3, 4)), on_call=(4, 5), leave=HOLIDAY)


@pytest.mark.parametrize(
    ("when", "on"),
    [
        (at(date(2026, 11, 27), "15:59"), True),
        (at(date(2026, 11, 27), "17:00"), False),
        (at(date(2026, 11, 27), "18:00"), True),
        (at(date(2026, 11, 28), "05:59"), True),
        (at(date(2026, 11, 28), "06:00"), False),
        (at(date(2026, 11, 28), "20:00"), True),
        (at(date(2026, 11, 29), "20:00"), False),
        (at(date(2026, 12, 26), "20:00"), False),
        # The nights of the clock's changes: 18:00 to 06:00 by the clock, both times.
        (at(date(2026, 4, 5), "05:59"), True),
        (at(date(2026, 4, 5), "06:00"), False),
        (at(date(2026, 10, 4), "05:59"), True),
        (at(date(2026, 10, 4), "06:00"), False),
    ],
)
def test_nights_on_call(when: datetime, on: bool) -> None:
    assert is_on_duty(ON_CALL, when, MELBOURNE) is on


def test_next_duty_may_be_a_night_on_call() -> None:
    friday = at(date(2026, 11, 27), "16:30")
    assert next_duty(ON_CALL, friday, MELBOURNE) == at(date(2026, 11, 27), "18:00")


def test_a_night_on_call_is_an_hour_longer_when_the_clock_goes_back() -> None:
    """04 April 18:00 (UTC+11) to 05 April 06:00 (UTC+10): 13 hours."""
    span = night_on_call(ON_CALL, date(2026, 4, 4), MELBOURNE)
    assert span == (utc(4, 4, 7), utc(4, 4, 20))
