"""Puts the days and times said in one text together: one span, or what stands against it.

A day belongs to the verb beside it: the death counts, what was done with the carcase later and
what is still to come do not. Nothing here is in the future, and no part is dropped that
contradicts another.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta

from msgspec import Struct

from bot.reading.clock import LIGHT
from bot.reading.hours import at_minute, clock_minutes, clock_span, part_span
from bot.reading.pieces import Clock, Day, Frame, Part
from bot.reading.told import Heard, of_the_death, verb_of
from bot.reading.twilight import Sun

Span = tuple[datetime, datetime]
Light = Callable[[date], Sun | None]

GRACE = timedelta(minutes=10)
"""How far a time may lie ahead of the text's own: watches differ, and carriers round."""


class Settled(Struct, frozen=True):
    """One span, or a reason with the spans to choose from; and the pieces that made it."""

    span: Span | None = None
    why: str = ""
    choices: tuple[Span, ...] = ()
    assumed: tuple[str, ...] = ()
    pieces: tuple[Day | Clock | Part, ...] = ()


# --------------------------------------------------------------------------- one day of all


def settle(heard: Heard, frame: Frame, light: Light, asked: bool = False) -> Settled:
    """The one span that a text gives, or why there is none. Empty where nothing was said."""
    days, why = of_the_death(heard, asked, frame.today)
    if not days:
        return Settled() if heard.days else _time_alone(heard, frame, light, asked)
    pieces = tuple(days)
    bad = next((d for d in days if d.why), None)
    if bad is not None:
        choices = tuple(whole_day(d, frame) for d in bad.days)
        return Settled(why=bad.why, choices=choices, pieces=pieces)
    candidates, clash = _agree(days)
    if clash:
        choices = tuple(whole_day(d, frame) for d in candidates)
        return Settled(why=clash, choices=choices, pieces=pieces)
    if not candidates:
        return _run_of_days(days, frame)
    return _narrowed(candidates, days, heard, frame, light, why)


def _agree(days: Sequence[Day]) -> tuple[tuple[date, ...], str]:
    """The days that all pieces allow, or the several days with the reason they clash."""
    fixed = list(dict.fromkeys(d.days[0] for d in days if d.weekday is None and d.until is None))
    named = [d for d in days if d.weekday is not None]
    if len(fixed) > 1:
        return tuple(fixed), "two_days"
    run = next((d for d in days if d.until is not None), None)
    if fixed and run is not None and (moved := _into_run(days, run)) is not None:
        return moved
    if fixed:
        odd = next((d for d in named if d.weekday != fixed[0].weekday()), None)
        if odd is None:
            return tuple(fixed), ""
        beside = next(d for d in days if d.weekday is None and d.until is None)
        near = min(abs(odd.first - beside.last), abs(beside.first - odd.last)) <= 2
        return (fixed[0], odd.days[0]), "parts_disagree" if near else "two_days"
    if len({d.weekday for d in named}) > 1:
        return tuple(dict.fromkeys(d.days[0] for d in named)), "two_days"
    if named and run is not None:  # "last week, on the Tuesday"
        first, until = run.days[0], run.until or run.days[0]
        inside = [first + timedelta(days=n) for n in range((until - first).days)]
        that = tuple(d for d in inside if d.weekday() == named[0].weekday)
        if len(that) < 2:
            return that or named[0].days, "" if that else "parts_disagree"
    return named[0].days if named else (), ""


def _into_run(days: Sequence[Day], run: Day) -> tuple[tuple[date, ...], str] | None:
    """ "last month on the 9th", "last year on 3 March": what was not said of the day is said by
    the run beside it. None where they stand apart, or agree."""
    day = next(d for d in days if d.weekday is None and d.until is None)
    first, until = run.days[0], run.until or run.days[0]
    if min(abs(run.first - day.last), abs(day.first - run.last)) > 2 or day.instant is not None:
        return None
    if first <= day.days[0] < until:
        return None
    inside = [first + timedelta(days=n) for n in range(min((until - first).days, 366))]
    open_ = [
        d
        for d in inside
        if d.day == day.days[0].day
        and ("no month said" in day.assumed or d.month == day.days[0].month)
    ]
    if day.assumed and len(open_) == 1:
        return tuple(open_), ""
    return (day.days[0],), "parts_disagree"


def _run_of_days(days: Sequence[Day], frame: Frame) -> Settled:
    """ "last week": its days, up to now."""
    first, until = days[0].days[0], days[0].until or days[0].days[0]
    span = at_minute(first, 0, frame.now), at_minute(until, 0, frame.now)
    if span[0] > frame.now:
        return Settled(why="in_the_future", pieces=tuple(days))
    return Settled(_not_ahead(span, frame), pieces=(days[0],))


def whole_day(day: date, frame: Frame) -> Span:
    """A local day, up to the text's own time: 23, 24 or 25 hours where it is past."""
    return _not_ahead((at_minute(day, 0, frame.now), at_minute(day, 1440, frame.now)), frame)


def _not_ahead(span: Span, frame: Frame) -> Span:
    minute = frame.now.replace(second=0, microsecond=0) + timedelta(minutes=1)
    return (span[0], min(span[1], minute)) if span[0] < minute else span


# ------------------------------------------------------------------------ the time of the day


def _narrowed(
    candidates: tuple[date, ...],
    days: Sequence[Day],
    heard: Heard,
    frame: Frame,
    light: Light,
    why: str,
) -> Settled:
    clock = _clock_of(days, heard)
    part = _part_of(days, heard)
    assumed = tuple(dict.fromkeys(a for d in days for a in d.assumed))
    pieces: tuple[Day | Clock | Part, ...] = (*days, *(p for p in (clock, part) if p and p.last))
    spans = []
    for day in candidates:
        span, more = _time_on(day, days, clock, part, frame, light)
        if span is not None:
            spans.append((span, more))
    if not spans:  # a time of today that is still to come: the day is sure, the time is not
        day_only = whole_day(candidates[-1], frame)
        return Settled(day_only, assumed=(*assumed, "time still to come"), pieces=pieces)
    if len(spans) > 1:
        choices = tuple(s for s, _ in spans)
        return Settled(why="weekday_today", choices=choices, pieces=pieces)
    span, more = spans[0]
    if why:
        return Settled(why=why, choices=(span,), pieces=pieces)
    return Settled(span, assumed=(*assumed, *more), pieces=pieces)


def _time_on(
    day: date,
    days: Sequence[Day],
    clock: Clock | None,
    part: Part | None,
    frame: Frame,
    light: Light,
) -> tuple[Span | None, tuple[str, ...]]:
    """The span on one day, None where it is all to come, and what was taken for granted."""
    instant = next((d.instant for d in days if d.instant), None)
    if clock is not None:
        minutes = clock_minutes(clock, part.part if part else "")
        spans = [clock_span(day, m, clock, frame.now) for m in minutes]
        past = [s for s in spans if s[0] <= frame.now + GRACE]
        if len(past) == 1:
            return _not_ahead(past[0], frame), ()
        return (whole_day(day, frame), ("morning or evening not said",)) if past else (None, ())
    if instant is not None:
        return (_not_ahead(instant, frame), ()) if instant[0] <= frame.now + GRACE else (None, ())
    if part is None:
        return whole_day(day, frame), ()
    span = lit(day, part, frame, light)
    return (_not_ahead(span, frame) if span[0] <= frame.now else None), ()


_AROUND = timedelta(minutes=20)


def lit(day: date, part: Part, frame: Frame, light: Light) -> Span:
    """The span of a part of a day, by the sun where the words are about light."""
    found = light(day) if part.part in LIGHT else None
    if found is None:
        return part_span(day, part, frame.now)
    return {
        "first_light": (found.first_light - _AROUND, found.sunrise),
        "sunrise": (found.sunrise - _AROUND, found.sunrise + _AROUND),
        "sunset": (found.sunset - _AROUND, found.sunset + _AROUND),
        "last_light": (found.sunset, found.last_light + _AROUND),
    }[part.part]


def _clock_of(days: Sequence[Day], heard: Heard) -> Clock | None:
    """The time beside the day, if one is told of the death and not of something else."""
    apart = [c for c in heard.clocks if _beside(days, c) or _told(heard, c)]
    return min(apart, key=lambda c: _distance(days, c), default=None)


def _part_of(days: Sequence[Day], heard: Heard) -> Part | None:
    near = [p for p in heard.parts if _beside(days, p) or (p.alone and _told(heard, p))]
    light = [p for p in near if p.part in LIGHT]
    of_day = next((Part(d.part) for d in days if d.part), None)
    if light:
        return light[0]
    return min(near, key=lambda p: _distance(days, p), default=of_day)


def _told(heard: Heard, piece: Clock | Part) -> bool:
    return verb_of(heard.letters, piece.first, piece.last) in ("K", "B", "")


def _distance(days: Sequence[Day], piece: Clock | Part) -> int:
    return min(max(piece.first - d.last, d.first - piece.last) for d in days)


def _beside(days: Sequence[Day], piece: Clock | Part) -> bool:
    return _distance(days, piece) <= 1


def _time_alone(heard: Heard, frame: Frame, light: Light, asked: bool) -> Settled:
    """A time without a day: today's if it is past, else yesterday's."""
    parts = [p for p in heard.parts if (p.alone or asked) and _told(heard, p)]
    clock = next((c for c in heard.clocks if _stands(c, heard, asked)), None)
    part = next(iter(parts), None)
    if clock is None and part is None:
        return Settled()
    if clock is not None:
        part = next((p for p in heard.parts if _next_to(p, clock)), part)
    pieces = tuple(p for p in (clock, part) if p is not None)
    for day in (frame.today, frame.today - timedelta(days=1)):
        span, assumed = _time_on(day, (), clock, part, frame, light)
        if span is not None:
            return Settled(span, assumed=("no day said", *assumed), pieces=pieces)
    return Settled()


def _stands(clock: Clock, heard: Heard, asked: bool) -> bool:
    """Whether a time is clear enough without a day: "6.30pm", "at 6 in the evening"."""
    clear = clock.alone or asked or any(_next_to(p, clock) for p in heard.parts)
    return clear and _told(heard, clock)


def _next_to(part: Part, clock: Clock) -> bool:
    return max(part.first - clock.last, clock.first - part.last) <= 1
