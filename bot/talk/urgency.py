"""PURE. Which conversation a person should look at first.

In this order: what must be looked at now, at any hour; then danger to people and to others'
stock; then whoever went in vain, and whoever waited in vain; then the head that is furthest past
the time by which it should be at the laboratory; then the one that has been warm the longest,
since what a laboratory can find in it goes within days in summer; then whoever has waited longest.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Protocol, TypeVar

from bot.reading.values import When
from bot.talk.state import Conversation, Said

DANGER = (
    "person_in_trouble",
    "exposure",
    "many_dead",
    "blisters",
    "bleeding",
    "livestock",
    "found_dead",
    "carcase_detained",
    "sign_in_body",
)
"""Reasons that are about somebody's safety, worst first."""

IN_VAIN = frozenset({"not_there", "nobody_home", "no_access", "wrong_head", "nobody_came"})
"""Reasons for which somebody may be standing at a gate, or waiting behind one."""

COLD = frozenset({"frozen", "chilled"})
NOTHING_LEFT = frozenset({"binned", "dog_took", "boiled"})
DONE_WITH = frozenset({"collected", "handed_in", "called_off"})


class Waiting(Protocol):
    """One conversation on the review list. `warm` is how long its head has been warm, `overdue`
    how far it is past its time; None where it is not."""

    @property
    def reasons(self) -> tuple[str, ...]: ...
    @property
    def at_once(self) -> bool: ...
    @property
    def warm(self) -> timedelta | None: ...
    @property
    def overdue(self) -> timedelta | None: ...
    @property
    def opened_at(self) -> datetime: ...


W = TypeVar("W", bound=Waiting)


def most_urgent_first(rows: Iterable[W]) -> tuple[W, ...]:
    """The rows in the order in which a person should take them."""
    return tuple(sorted(rows, key=_rank))


def worst_first(reasons: Iterable[str]) -> tuple[str, ...]:
    """One conversation's reasons, the most dangerous first, the others as they came."""
    return tuple(sorted(reasons, key=_danger))


def _rank(row: Waiting) -> tuple[bool, int, timedelta, timedelta, datetime]:
    danger = min(map(_danger, row.reasons), default=len(DANGER) + 1)
    overdue, warm = row.overdue or timedelta(), row.warm or timedelta()
    return not row.at_once, danger, -overdue, -warm, row.opened_at


def _danger(reason: str) -> int:
    return DANGER.index(reason) if reason in DANGER else len(DANGER) + (reason not in IN_VAIN)


def warm_for(conversation: Conversation, now: datetime) -> timedelta | None:
    """How long a head may have been warm at most; None where it is cold, gone or none.

    From the earliest time the animal can have died, or from the first text where that is not
    known.
    """
    if conversation.kind != "head" or _keys(conversation, "storage") & (COLD | NOTHING_LEFT):
        return None
    if conversation.pickup is not None and conversation.pickup.state in DONE_WITH:
        return None
    answer = conversation.answers.get("when")
    died = answer.value if answer else None
    since = died.earliest if isinstance(died, When) else conversation.started_at
    return max(now - since, timedelta())


def _keys(conversation: Conversation, question: str) -> frozenset[str]:
    answer = conversation.answers.get(question)
    value = answer.value if answer else None
    return frozenset(value.keys) if isinstance(value, Said) else frozenset()
