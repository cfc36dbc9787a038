"""What is drawn for a rehearsal: the finds of a season, and how each of the staff would answer.

Everything hangs on the seed alone. How somebody answers an offer is drawn for the pair of find and
person, so that hindsight meets the very same refusals.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Literal

from msgspec.structs import replace

from bot.fieldwork.duty import night_on_call, shift
from bot.programme import Member, Programme

SPREAD_KM = 3.0
"""How far finds lie about the programme's landmarks (standard deviation)."""
DEGREE_KM = 111.2


@dataclass(frozen=True, slots=True)
class Habits:
    """How staff are taken to behave; invented figures, to be set to what a programme knows."""

    refuses: float = 0.15
    silent: float = 0.10
    answers_in: float = 10.0
    """Minutes on average."""
    jobs_a_day: int = 4
    """Where the roster names no bound of its own."""
    at_the_place: float = 20.0
    """Minutes at each pickup place."""


@dataclass(frozen=True, slots=True)
class FindDrawn:
    """One find: when the pickup is opened, and where."""

    number: int
    at: datetime
    lat: float
    lon: float


@dataclass(frozen=True, slots=True)
class Reaction:
    """What one member of staff makes of one offer."""

    answer: Literal["yes", "no", ""]
    after: timedelta


def staff_with_bounds(programme: Programme, habits: Habits) -> tuple[Member, ...]:
    """The field staff, each with the most jobs that he takes on one day."""
    return tuple(
        replace(m, most_jobs=m.most_jobs or habits.jobs_a_day)
        for m in programme.roster
        if m.role == "field"
    )


def capacity(people: tuple[Member, ...], programme: Programme, start: date, days: int) -> int:
    """How many jobs these can take on in so many days, by their shifts alone."""
    zone = programme.zone
    dates = [start + timedelta(days=n) for n in range(days)]
    return sum(
        m.most_jobs
        for m in people
        for day in dates
        if shift(m, day, zone) or night_on_call(m, day, zone)
    )


def draw_finds(
    seed: int, programme: Programme, start: date, days: int, count: int
) -> tuple[FindDrawn, ...]:
    """So many finds in so many days, by daylight, about the programme's landmarks."""
    draw = Random(f"finds {seed}")  # noqa: S311 - nothing secret is drawn
    drawn = sorted(_when(draw, programme, start, days) for _ in range(count))
    return tuple(FindDrawn(n, at, *_where(draw, programme)) for n, at in enumerate(drawn))


def reaction(seed: int, find: int, member: str, habits: Habits) -> Reaction:
    """How this person answers an offer of this find, whenever it comes."""
    draw = Random(f"answer {seed} {find} {member}")  # noqa: S311 - nothing secret is drawn
    chance = draw.random()
    after = timedelta(minutes=draw.expovariate(1.0 / habits.answers_in))
    if chance < habits.refuses:
        return Reaction("no", after)
    return Reaction("" if chance < habits.refuses + habits.silent else "yes", after)


def _when(draw: Random, programme: Programme, start: date, days: int) -> datetime:
    day = start + timedelta(days=draw.randrange(days))
    minute = int(draw.triangular(5 * 60, 21 * 60, 9 * 60))
    local = datetime.combine(day, time(minute // 60, minute % 60), tzinfo=programme.zone)
    return local.astimezone(UTC)


def _where(draw: Random, programme: Programme) -> tuple[float, float]:
    if programme.landmarks:
        mark = draw.choice(programme.landmarks)
        off = SPREAD_KM / DEGREE_KM
        return mark.lat + draw.gauss(0, off), mark.lon + draw.gauss(0, off)
    west, south, east, north = programme.area.bounds
    return draw.uniform(south, north), draw.uniform(west, east)
