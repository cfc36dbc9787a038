"""PURE. A visit in vain, each kind with a next step: nobody home, no way in, head gone, wrong head.

Law: the first time that nobody was home, or the way was shut, it stays with its holder, since the
hunter is asked at once and may have the answer. A second time, a head that is gone, or another
head in its place are a person's to sort out, and nobody goes there again before that.
"""

from __future__ import annotations

from msgspec.structs import replace

from bot.fieldwork.case import (
    Case,
    Outcome,
    answered,
    asking,
    at_rest,
    closed,
    settling,
    waiting_minutes,
)
from bot.messages import FieldReply

LATE = ("not_collected_yet",)
"""What is settled once its holder has been there."""


def came_in_vain(case: Case) -> Outcome:
    """Nobody home or no way in: the hunter is asked, and its holder may go again once."""
    if case.pickup.in_vain:
        return report_gone(case)
    kind = _kind(case)
    others = [who for who in case.pickup.with_whom if who != case.sender]
    pickup = closed(answered(case.pickup, case.sender, "yes"), "withdrawn")
    pickup = replace(pickup, state="taken", staff_id=case.sender, words="", in_vain=1)
    pickup, settled = settling(pickup, LATE)
    pickup, wait = waiting_minutes(pickup, case.at, case.programme.head.patience.collect)
    told = case.texts(others, "withdrawn", pickup, name=case.name(case.sender))
    texts = (*case.text(case.sender, f"{kind}_noted", pickup), *told)
    return pickup, (*texts, *settled, *case.news(kind, case.sender, case.words), *wait)


def report_gone(case: Case) -> Outcome:
    """The head is gone, or it was in vain a second time: a person finds out what next."""
    key = "in_vain_again" if _kind(case) in ("nobody_home", "no_access") else "gone_noted"
    return _to_the_coordinator(case, key)


def report_wrong(case: Case) -> Outcome:
    """Another head than the one that was told of: it is left, and a person finds out which."""
    return _to_the_coordinator(case, "wrong_head_noted")


def wrong_after_all(case: Case) -> Outcome:
    """Whoever has it finds that it is another's. It stays with him till a person has sorted it."""
    pickup, ask = asking(case.pickup, "wrong_head", case.words)
    return pickup, (*case.text(case.sender, "kept_noted", pickup), *ask)


def _kind(case: Case) -> str:
    assert isinstance(case.event, FieldReply)  # noqa: S101 - the table's own promise
    return case.event.answer


def _to_the_coordinator(case: Case, key: str) -> Outcome:
    kind = _kind(case)
    others = [who for who in case.pickup.with_whom if who != case.sender]
    pickup = closed(answered(case.pickup, case.sender, kind), "withdrawn")
    pickup = at_rest(replace(pickup, state="with_coordinator", staff_id="", words=""))
    pickup, settled = settling(pickup, LATE)
    pickup, ask = asking(pickup, kind, case.words)
    told = case.texts(others, "withdrawn_coordinator", pickup)
    texts = (*case.text(case.sender, key, pickup), *told)
    return pickup, (*texts, *settled, *ask, *case.news(kind, case.sender, case.words))
