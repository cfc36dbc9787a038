"""How a time or a part of the day narrows a local day to a span.

An exact time is a minute, a bare hour half an hour, "about" half an hour each way, a part of
the day its own hours.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from bot.reading.pieces import Clock, Part

HOURS: dict[str, tuple[int, int]] = {
    "morning": (4, 12),
    "forenoon": (8, 12),
    "noon": (11, 14),
    "afternoon": (12, 18),
    "evening": (17, 24),
    "night": (18, 30),
    "midnight": (23, 25),
    "first_light": (4, 8),
    "sunrise": (5, 9),
    "sunset": (16, 22),
    "last_light": (16, 23),
}
"""Hours of the parts where the sun is not asked; past 24 runs into the next morning. Common
practice; wide on purpose."""

HALF_HOUR = 30


def at_minute(day: date, minute: int, like: datetime) -> datetime:
    """A wall-clock time of a local day; minutes past 1440 are on the next day."""
    if not 0 <= minute < 1440:
        day += timedelta(days=minute // 1440)
    hour = minute // 60 % 24
    return datetime(day.year, day.month, day.day, hour, minute % 60, tzinfo=like.tzinfo)


def part_span(day: date, part: Part, like: datetime) -> tuple[datetime, datetime]:
    """The hours of a part of a day; early, middle and late are a part of that again."""
    low, high = (60 * hour for hour in HOURS[part.part])
    third = (high - low) // 3
    if part.shade == "early":
        high = high - third
    elif part.shade == "late":
        low = low + third
    elif part.shade == "middle":
        low, high = low + third // 2, high - third // 2
    return at_minute(day, low, like), at_minute(day, high, like)


def clock_minutes(clock: Clock, part: str) -> tuple[int, ...]:
    """The minutes after midnight of the day that a time may mean, given the part of the day.

    One where it is sure. "6" alone is morning or evening. At night the small hours are those
    of the day after.
    """
    minute = clock.minute
    if clock.half == "24":
        return (minute + 1440 if part == "night" and minute < 6 * 60 else minute,)
    late = minute % 720 + 720
    if part in ("morning", "forenoon", "first_light", "sunrise"):
        return (minute % 720,)
    if part in ("afternoon", "evening", "noon", "sunset", "last_light"):
        return (late,)
    if part == "night":
        return (late,) if late >= 17 * 60 else (minute % 720 + 1440,)
    return (minute % 720, late) if minute >= 60 else (minute,)


def clock_span(day: date, minute: int, clock: Clock, like: datetime) -> tuple[datetime, datetime]:
    """From the time said to a minute later, half an hour for a bare hour; wider for "about"."""
    start = at_minute(day, minute, like)
    if clock.length:
        return start, at_minute(day, minute + clock.length, like)
    width = HALF_HOUR if clock.hour_only else 1
    if clock.about:
        return start - timedelta(minutes=HALF_HOUR), start + timedelta(minutes=HALF_HOUR)
    end = start + timedelta(minutes=width)
    # A time that comes twice, as the clocks go back, is either of the two.
    return start, end.replace(fold=1) if _comes_twice(start) else end


def _comes_twice(at: datetime) -> bool:
    first, second = at.replace(fold=0).utcoffset(), at.replace(fold=1).utcoffset()
    return first is not None and second is not None and second < first
