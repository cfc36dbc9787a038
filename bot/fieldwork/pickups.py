"""PURE. How a pickup moves from hand to hand: every transition stands in TABLE, below.

Law: a live pickup is with one person, or has a timer, or is on the review list; it is never
with two people. An event that finds no row is refused by name (`Pickup.refused`), and whoever
answered is told why. Nothing is done here: effects say what the service is to do.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from msgspec.structs import replace

from bot.fieldwork.case import REASONS, Case, Outcome, refusing
from bot.fieldwork.dispatch import Roster
from bot.fieldwork.hands import (
    HUNTER,
    bring_in,
    brought_too,
    call_off,
    call_off_collected,
    cannot_hand_in,
    change,
    collect,
    contest,
    give,
    hand_in,
    late_no,
    not_collected,
    not_handed_in,
    say_when,
    take,
    take_if_asked,
)
from bot.fieldwork.in_vain import came_in_vain, report_gone, report_wrong, wrong_after_all
from bot.fieldwork.search import decline, give_back, lapse, look_again, miss, open_it
from bot.fieldwork.staff_dialog import StaffDialog
from bot.fieldwork.state import LIVE, Offer, Pickup, State, dump, load, pickup_of
from bot.messages import (
    Assigned,
    BroughtIn,
    CalledOff,
    Effect,
    FieldReply,
    OfferLapsed,
    Opened,
    PickupChanged,
    PickupEvent,
    Unreached,
)
from bot.programme import Programme

__all__ = [
    "HUNTER",
    "KINDS",
    "LIVE",
    "MISSES",
    "REASONS",
    "TABLE",
    "Offer",
    "Pickup",
    "Step",
    "dump",
    "load",
    "move",
    "pickup_of",
]

ANSWERS = (
    *("yes", "no", "collected", "handed_in"),
    *("not_there", "nobody_home", "no_access", "wrong_head"),
)
SYSTEM: dict[type, str] = {
    Opened: "opened",
    OfferLapsed: "lapsed",
    Unreached: "unreached",
    Assigned: "assigned",
    CalledOff: "called_off",
    PickupChanged: "changed",
    BroughtIn: "brought_in",
}
KINDS = (
    *SYSTEM.values(),
    *ANSWERS,
    *(f"{a}_other" for a in ANSWERS),
)
"""What can happen to a pickup. An answer is `_other` where it comes from somebody who neither
has the pickup nor is being asked at that moment."""


class Step(NamedTuple):
    """One cell: what happens, and in which states it may end."""

    do: Callable[[Case], Outcome]
    to: tuple[State, ...]


SEARCH: tuple[State, ...] = ("offered", "waiting", "with_coordinator")
AGAIN: tuple[State, ...] = ("taken", "with_coordinator")

TABLE: dict[State, dict[str, Step]] = {
    "waiting": {
        "opened": Step(open_it, SEARCH),
        "lapsed": Step(look_again, SEARCH),
        "assigned": Step(give, ("taken",)),
        "called_off": Step(call_off, ("called_off",)),
        "changed": Step(change, ("waiting",)),
        "brought_in": Step(bring_in, ("handed_in",)),
        "yes_other": Step(take_if_asked, ("taken", "waiting")),
        "no_other": Step(late_no, ("waiting",)),
        "collected_other": Step(collect, ("collected",)),
        "handed_in_other": Step(hand_in, ("handed_in",)),
    },
    "offered": {
        "lapsed": Step(lapse, SEARCH),
        "unreached": Step(miss, SEARCH),
        "assigned": Step(give, ("taken",)),
        "called_off": Step(call_off, ("called_off",)),
        "changed": Step(change, ("offered",)),
        "brought_in": Step(bring_in, ("handed_in",)),
        "yes": Step(take, ("taken",)),
        "no": Step(decline, SEARCH),
        "collected": Step(collect, ("collected",)),
        "handed_in": Step(hand_in, ("handed_in",)),
        "not_there": Step(report_gone, ("with_coordinator",)),
        "nobody_home": Step(came_in_vain, AGAIN),
        "no_access": Step(came_in_vain, AGAIN),
        "wrong_head": Step(report_wrong, ("with_coordinator",)),
        "yes_other": Step(take_if_asked, ("taken", "offered")),
        "no_other": Step(late_no, ("offered",)),
        "collected_other": Step(collect, ("collected",)),
        "handed_in_other": Step(hand_in, ("handed_in",)),
    },
    "taken": {
        "lapsed": Step(not_collected, ("taken",)),
        "assigned": Step(give, ("taken",)),
        "called_off": Step(call_off, ("called_off",)),
        "changed": Step(change, ("taken",)),
        "brought_in": Step(bring_in, ("handed_in",)),
        "yes": Step(say_when, ("taken",)),
        "no": Step(give_back, SEARCH),
        "collected": Step(collect, ("collected",)),
        "handed_in": Step(hand_in, ("handed_in",)),
        "not_there": Step(report_gone, ("with_coordinator",)),
        "nobody_home": Step(came_in_vain, AGAIN),
        "no_access": Step(came_in_vain, AGAIN),
        "wrong_head": Step(report_wrong, ("with_coordinator",)),
        "collected_other": Step(contest, ("taken",)),
        "handed_in_other": Step(contest, ("taken",)),
    },
    "collected": {
        "lapsed": Step(not_handed_in, ("collected",)),
        "assigned": Step(give, ("taken", "collected")),
        "called_off": Step(call_off_collected, ("called_off", "collected")),
        "changed": Step(change, ("collected",)),
        "brought_in": Step(brought_too, ("collected",)),
        "no": Step(cannot_hand_in, ("collected",)),
        "handed_in": Step(hand_in, ("handed_in",)),
        "not_there": Step(cannot_hand_in, ("collected",)),
        "nobody_home": Step(cannot_hand_in, ("collected",)),
        "no_access": Step(cannot_hand_in, ("collected",)),
        "wrong_head": Step(wrong_after_all, ("collected",)),
        "collected_other": Step(contest, ("collected",)),
        "handed_in_other": Step(contest, ("collected",)),
    },
    "with_coordinator": {
        "assigned": Step(give, ("taken",)),
        "called_off": Step(call_off, ("called_off",)),
        "changed": Step(change, ("with_coordinator",)),
        "brought_in": Step(bring_in, ("handed_in",)),
        "yes_other": Step(take_if_asked, ("taken", "with_coordinator")),
        "collected_other": Step(collect, ("collected",)),
        "handed_in_other": Step(hand_in, ("handed_in",)),
    },
    "handed_in": {},
    "called_off": {
        "brought_in": Step(bring_in, ("handed_in",)),
        "collected_other": Step(contest, ("called_off",)),
        "handed_in_other": Step(contest, ("called_off",)),
    },
}

MISSES: dict[State, str] = {
    "waiting": "not_offered",
    "offered": "not_offered",
    "taken": "taken_by_other",
    "collected": "collected_by_other",
    "handed_in": "handed_in_already",
    "called_off": "called_off_already",
    "with_coordinator": "with_the_coordinator",
}
"""The name of the refusal where TABLE has no row; the answer that it gets stands under it."""

OWN_MISSES: dict[State, str] = {"collected": "already_collected"}
"""The same where it is the holder who answers."""


def move(
    pickup: Pickup,
    event: PickupEvent,
    roster: Roster,
    programme: Programme,
    dialog: StaffDialog,
) -> tuple[Pickup, tuple[Effect, ...]]:
    """Move a pickup on by one event; decide who is asked and told what, and do none of it.

    An event that cannot move it leaves it as it stands and names the reason in `refused`.
    """
    kind = _kind(pickup, event)
    case = Case(replace(pickup, refused=""), event, roster, programme, dialog)
    why = _unusable(pickup, event, roster)
    if why:
        return refusing(case, why)
    step = TABLE[pickup.state].get(kind)
    if step is not None:
        return step.do(case)
    own = "" if kind.endswith("_other") else OWN_MISSES.get(pickup.state)
    return refusing(case, own or MISSES[pickup.state])


def _kind(pickup: Pickup, event: PickupEvent) -> str:
    """The event's column in TABLE."""
    if isinstance(event, FieldReply):
        own = event.staff_id in pickup.with_whom
        return event.answer if own else f"{event.answer}_other"
    return SYSTEM[type(event)]


def _unusable(pickup: Pickup, event: PickupEvent, roster: Roster) -> str:
    """Why an event counts for nothing in any state, or ""."""
    if isinstance(event, Opened) and pickup.opened_at is not None:
        return "already_open"
    if isinstance(event, OfferLapsed) and (event.mark != pickup.mark or pickup.due is None):
        return "stale"
    if isinstance(event, Unreached) and not _is_open(pickup, event):
        return "stale"
    if isinstance(event, FieldReply | Assigned) and event.staff_id not in roster.by_id:
        return "unknown_staff"
    return ""


def _is_open(pickup: Pickup, event: Unreached) -> bool:
    """Whether the offer that did not arrive still waits for an answer."""
    open_to = (o for o in pickup.open_offers if o.staff_id == event.staff_id)
    return any(offer.at <= event.decided_at for offer in open_to)
