"""PURE. Who is on duty when: shifts and nights on call by the programme's clock, as real time.

A shift is named by the local day on which it begins and runs over midnight where its end is not
after its start; leave takes away those that begin on its days, and whoever was taken off duty has
none. The ends of a shift are turned into instants one by one, so that the clock's change in spring
and autumn moves them as it moves the people. A start that the clock shows twice begins at the
first showing, an end that it shows twice ends at the second; a time that it skips counts by the
offset before the change (PEP 495, fold 0).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from typing import Literal

from bot.programme import Member

WHOLE_DAY = 1440


Span = tuple[datetime, datetime]
WhyOff = Literal["", "taken_off", "leave", "hours"]


def shift(member: Member, day: date, zone: tzinfo) -> Span | None:
    """The span in UTC of the shift that begins on a local day, end exclusive; None if none does."""
    if member.off_duty or day.weekday() not in member.days or is_on_leave(member, day):
        return None
    return _span(day, member.from_minute, member.to_minute, zone)


def night_on_call(member: Member, day: date, zone: tzinfo) -> Span | None:
    """The night on call that begins on the evening of a local day; None if none does."""
    if member.off_duty or day.weekday() not in member.on_call or is_on_leave(member, day):
        return None
    return _span(day, member.call_from, member.call_to, zone)


def is_on_leave(member: Member, day: date) -> bool:
    """Whether a local day is one of a member's leave."""
    return any(first <= day <= last for first, last in member.leave)


def is_on_duty(member: Member, at: datetime, zone: tzinfo) -> bool:
    """Whether a shift of this local day, or one of the day before, holds this instant."""
    yesterday = at.astimezone(zone).date() - timedelta(days=1)
    return any(
        start <= at < end
        for day in (yesterday, yesterday + timedelta(days=1))
        for start, end in _spans(member, day, zone)
    )


def is_on_call(member: Member, at: datetime, zone: tzinfo) -> bool:
    """Whether a night on call of his holds this instant."""
    today = at.astimezone(zone).date()
    nights = (night_on_call(member, today - timedelta(days=n), zone) for n in (1, 0))
    return any(span[0] <= at < span[1] for span in nights if span)


def why_off(member: Member, at: datetime, zone: tzinfo) -> WhyOff:
    """Why a member is off duty at an instant; "" if he is on."""
    if member.off_duty:
        return "taken_off"
    if is_on_duty(member, at, zone):
        return ""
    return "leave" if is_on_leave(member, at.astimezone(zone).date()) else "hours"


def next_duty(member: Member, at: datetime, zone: tzinfo) -> datetime | None:
    """When this member is next on duty: `at` itself if now, None if never."""
    day = at.astimezone(zone).date() - timedelta(days=1)
    # Nine days hold every weekday after a shift that began yesterday; leave begins them anew.
    end_of_search = max([day, *(last for _, last in member.leave)]) + timedelta(days=9)
    while day < end_of_search:
        starts = [max(start, at) for start, end in _spans(member, day, zone) if end > at]
        if starts:
            return min(starts)
        day += timedelta(days=1)
    return None


def _spans(member: Member, day: date, zone: tzinfo) -> list[Span]:
    """The shift and the night on call that begin on a local day."""
    both = shift(member, day, zone), night_on_call(member, day, zone)
    return [span for span in both if span]


def _span(day: date, start: int, end: int, zone: tzinfo) -> Span:
    over_midnight = WHOLE_DAY if end <= start else 0
    return _instant(day, start, zone, 0), _instant(day, end + over_midnight, zone, 1)


@lru_cache(maxsize=16384)
def _instant(day: date, minute: int, zone: tzinfo, fold: int) -> datetime:
    """Kept, since thousands of people share a few hours."""
    days, minute = divmod(minute, WHOLE_DAY)
    clock = time(minute // 60, minute % 60)
    local = datetime.combine(day + timedelta(days=days), clock, tzinfo=zone)
    skipped = local.replace(fold=1).utcoffset() > local.utcoffset()  # type: ignore[operator]
    return local.replace(fold=0 if skipped else fold).astimezone(UTC)
