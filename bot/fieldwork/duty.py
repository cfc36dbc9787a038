"""PURE. Who is on duty when: shifts by the programme's clock, as spans of real time.

A shift is named by the local day on which it begins and runs over midnight where its end is
not after its start. Its ends are turned into instants one by one, so that the clock's change
in spring and autumn moves them as it moves the people. A start that the clock shows twice
begins at the first showing, an end that it shows twice ends at the second; a time that it
skips counts by the offset before the change (PEP 495, fold 0).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo

from bot.programme import Member

WHOLE_DAY = 1440


def shift(member: Member, day: date, zone: tzinfo) -> tuple[datetime, datetime] | None:
    """The span in UTC of the shift that begins on a local day, end exclusive; None if none does."""
    if day.weekday() not in member.days:
        return None
    over_midnight = WHOLE_DAY if member.to_minute <= member.from_minute else 0
    start = _instant(day, member.from_minute, zone, fold=0)
    return start, _instant(day, member.to_minute + over_midnight, zone, fold=1)


def is_on_duty(member: Member, at: datetime, zone: tzinfo) -> bool:
    """Whether a shift of this local day, or one of the day before, holds this instant."""
    return any(start <= at < end for start, end in _shifts(member, at, zone, days=2))


def next_duty(member: Member, at: datetime, zone: tzinfo) -> datetime | None:
    """When this member is next on duty: `at` itself if now, None if never."""
    return next(
        (max(start, at) for start, end in _shifts(member, at, zone, days=9) if end > at), None
    )


def _shifts(
    member: Member, at: datetime, zone: tzinfo, days: int
) -> list[tuple[datetime, datetime]]:
    """The shifts that begin from yesterday on, in order."""
    yesterday = at.astimezone(zone).date() - timedelta(days=1)
    spans = (shift(member, yesterday + timedelta(days=n), zone) for n in range(days))
    return [span for span in spans if span]


def _instant(day: date, minute: int, zone: tzinfo, fold: int) -> datetime:
    days, minute = divmod(minute, WHOLE_DAY)
    clock = time(minute // 60, minute % 60)
    local = datetime.combine(day + timedelta(days=days), clock, tzinfo=zone)
    skipped = local.replace(fold=1).utcoffset() > local.utcoffset()  # type: ignore[operator]
    return local.replace(fold=0 if skipped else fold).astimezone(UTC)
