"""The best assignment in hindsight: the same finds on the same days, with all of a day known.

Hindsight keeps to the same people, their duty hours, their refusals (drawn for each pair) and what
each can take on in a day; it alone knows a day's finds before the first is offered. Finds that went
to the coordinator count on neither side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, time, timedelta

import numpy as np
from scipy.optimize import linear_sum_assignment

from bot.fieldwork.dispatch import next_duty
from bot.programme import Member, Programme
from bot.rehearsal.playing import Played
from bot.rehearsal.season import Habits, reaction

NEVER = 1e7
"""Minutes that no sum of ways reaches."""


def driven(played: Iterable[Played]) -> float:
    """Minutes that were driven, there and back."""
    return sum(2.0 * p.ways[p.taken_by] for p in played if p.taken_at)


def best_driven(
    played: Iterable[Played],
    people: tuple[Member, ...],
    programme: Programme,
    habits: Habits,
    seed: int,
) -> float:
    """Minutes of the best assignment, day by day."""
    days: dict[date, list[Played]] = {}
    for one in played:
        if one.taken_at:
            days.setdefault(one.taken_at.astimezone(programme.zone).date(), []).append(one)
    return sum(
        best_of_day(
            [_ways(p, day, people, programme, habits, seed) for p in finds],
            {m.id: m.most_jobs for m in people},
        )
        for day, finds in days.items()
    )


def best_of_day(ways: list[dict[str, float]], bounds: Mapping[str, int]) -> float:
    """The least sum of minutes there and back, each find with one person and nobody beyond his
    bound. ValueError if there is no such assignment."""
    places = [(who, n) for who, most in bounds.items() for n in range(min(most, len(ways)))]
    costs = np.array([[way.get(who, NEVER) for who, _ in places] for way in ways])
    rows, columns = linear_sum_assignment(costs)
    if len(rows) < len(ways) or costs[rows, columns].max(initial=0.0) >= NEVER:
        raise ValueError("no assignment of this day's finds keeps to the bounds")
    return float(2.0 * costs[rows, columns].sum())


def _ways(
    one: Played,
    day: date,
    people: tuple[Member, ...],
    programme: Programme,
    habits: Habits,
    seed: int,
) -> dict[str, float]:
    """The minutes of those who would have said yes and are on duty that day once it is known."""
    end = datetime.combine(day + timedelta(days=1), time(), tzinfo=programme.zone).astimezone(UTC)
    start = datetime.combine(day, time(), tzinfo=programme.zone).astimezone(UTC)
    known = max(one.find.at, start)
    return {
        m.id: one.ways[m.id]
        for m in people
        if m.id in one.ways
        and (m.id == one.taken_by or reaction(seed, one.find.number, m.id, habits).answer == "yes")
        and (begins := next_duty(m, known, programme.zone)) is not None
        and begins < end
    }
