"""PURE. How long a head is any good: what its keeping so far has used up, and when it is due.

Law: the clock gives a priority and never a reason to leave a head. Each stage (warm, chilled,
frozen) uses up a share of what a head lasts: its hours by the hours that the programme gives a
head so kept. When the shares make one, the head is due.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import pairwise

from bot.folder.spoiling import Spoiling
from bot.messages import Stage


def best_by(stages: Iterable[Stage], rules: Spoiling | None) -> datetime | None:
    """When a head should be at the laboratory: None where the programme keeps no such clock,
    nothing was said, or it is kept so that it lasts."""
    told = sorted(stages, key=lambda stage: stage.since)
    if rules is None or not told:
        return None
    used = 0.0
    for stage, following in pairwise(told):
        share = lasts(stage, rules)
        spent = (following.since - stage.since) / share if share else 0.0
        if share and used + spent >= 1.0:
            return stage.since + (1.0 - used) * share
        used += spent
    last = lasts(told[-1], rules)
    return told[-1].since + (1.0 - used) * last if last else None


def lasts(stage: Stage, rules: Spoiling) -> timedelta | None:
    """How long a fresh head lasts that is kept so; None for without end."""
    if stage.kept == "frozen":
        hours = rules.frozen_hours
    elif stage.kept == "chilled":
        hours = rules.chilled_hours
    else:
        hours = _warm_hours(stage.air_c, rules)
    return timedelta(hours=hours) if hours else None


def overdue(due: datetime | None, now: datetime) -> timedelta | None:
    """How far past its time a head is; None while it is not."""
    return now - due if due is not None and now > due else None


def _warm_hours(air_c: float | None, rules: Spoiling) -> float:
    """The hours of the warmest row that the air reaches; of unknown air, the programme's."""
    if air_c is None:
        return rules.warm_hours
    rows = sorted(rules.by_air, key=lambda row: row.air_c, reverse=True)
    return next((row.hours for row in rows if air_c >= row.air_c), rules.cold_hours)
