"""PURE. One event of one pickup with all that a transition may look at, and the effects it
may give: a text to staff, news for the hunter, a wait, a row on the review list.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from msgspec.structs import replace

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.staff_dialog import StaffDialog
from bot.fieldwork.staff_texts import job_values, staff_text
from bot.fieldwork.state import Pickup
from bot.messages import (
    Address,
    AskCoordinator,
    Effect,
    FieldReply,
    PickupEvent,
    PickupNews,
    SendText,
    SettleReview,
    TellHunter,
    WaitFor,
)
from bot.programme import Programme

Effects = tuple[Effect, ...]
Outcome = tuple[Pickup, Effects]

REASONS = (
    "nobody_took_it",
    "nobody_on_duty",
    "nobody_in_reach",
    "nobody_free",
    "not_collected_yet",
    "not_handed_in",
    "not_there",
    "nobody_home",
    "no_access",
    "wrong_head",
    "cannot_hand_in",
    "two_hold_it",
    "called_off_after_collected",
    "pickup_changed",
)
"""Everything for which a pickup asks the coordinator."""


TIMED = frozenset({"offer", "assigned", "changed"})
"""Texts that say by when the head is best fetched, where the programme keeps that clock."""

HEAVY = frozenset({"offer", "assigned"})
"""Texts that say what a whole carcase takes."""

NO_NOTED = {
    "offered": "no_noted",
    "waiting": "no_noted_waits",
    "with_coordinator": "no_noted_nobody",
}
"""What somebody who can't is told, by what became of the pickup then."""

WAY_IN = frozenset({"yours", "assigned", "changed"})
"""Texts that say what the hunter told of gate, dogs and time."""


@dataclass(frozen=True, slots=True)
class Case:
    """One event on its way through the table."""

    pickup: Pickup
    event: PickupEvent
    roster: Roster
    programme: Programme
    dialog: StaffDialog

    @property
    def at(self) -> datetime:
        """When the event arrived."""
        return self.event.at

    @property
    def sender(self) -> str:
        """Which member of staff answered, "" where the event is no answer."""
        return self.event.staff_id if isinstance(self.event, FieldReply) else ""

    @property
    def words(self) -> str:
        """What the answer said besides, or ""."""
        return self.event.words if isinstance(self.event, FieldReply) else ""

    def name(self, staff_id: str) -> str:
        """A member's name; the id of one who has left the roster."""
        member = self.roster.by_id.get(staff_id)
        return member.name if member else staff_id

    def text(self, staff_id: str, key: str, pickup: Pickup, **more: str) -> Effects:
        """A text to one member of staff; nothing where nobody of that id is on the roster."""
        member = self.roster.by_id.get(staff_id)
        if member is None:
            return ()
        values = job_values(pickup, self.programme) | more
        also = (
            "whole_carcase" if pickup.whole_carcase and key in HEAVY else "",
            "access" if pickup.access and key in WAY_IN else "",
            "best_by" if pickup.best_by and key in TIMED else "",
        )
        body = staff_text(self.dialog, self.programme, key, values, also, visit=pickup.visit)
        to = Address(member.channel, member.number)
        return (SendText(body, "offer" if key == "offer" else "news", to),)

    def texts(self, staff_ids: Iterable[str], key: str, pickup: Pickup, **more: str) -> Effects:
        """The same text to each of several."""
        return tuple(e for who in staff_ids for e in self.text(who, key, pickup, **more))

    def news(self, state: str, staff_id: str = "", words: str = "") -> Effects:
        """What the hunter's conversation is told, with the name and number of who comes."""
        member = self.roster.by_id.get(staff_id)
        name, number = (member.name, member.number) if member else ("", "")
        return (TellHunter(PickupNews(self.at, state, name, number, words)),)


def waiting(pickup: Pickup, due: datetime) -> Outcome:
    """Set the one wait of a pickup; whatever was waited for before is stale from now on."""
    pickup = replace(pickup, due=due, mark=pickup.mark + 1)
    return pickup, (WaitFor(due, pickup.mark),)


def waiting_minutes(pickup: Pickup, at: datetime, minutes: int) -> Outcome:
    """Set the wait to so many minutes from now."""
    return waiting(pickup, at + timedelta(minutes=minutes))


def at_rest(pickup: Pickup) -> Pickup:
    """The pickup with nothing to wait for."""
    return replace(pickup, due=None, mark=pickup.mark + 1)


def asking(pickup: Pickup, reason: str, heard: str = "") -> Outcome:
    """Put the pickup on the review list. Said again each time, since the coordinator may have
    settled the row meanwhile; the list itself keeps one open row for a reason."""
    reviews = tuple(dict.fromkeys((*pickup.reviews, reason)))
    return replace(pickup, reviews=reviews), (AskCoordinator(reason, heard),)


def settling(pickup: Pickup, reasons: tuple[str, ...] = REASONS) -> Outcome:
    """Take off the review list what this event has settled."""
    gone = tuple(r for r in pickup.reviews if r in reasons)
    if not gone:
        return pickup, ()
    left = tuple(r for r in pickup.reviews if r not in gone)
    return replace(pickup, reviews=left), (SettleReview(gone),)


def answered(pickup: Pickup, staff_id: str, answer: str) -> Pickup:
    """Write an answer on the last offer to one member; any other open one stays open."""
    last = max((n for n, o in enumerate(pickup.offers) if o.staff_id == staff_id), default=-1)
    return replace(
        pickup,
        offers=tuple(
            replace(o, answer=answer) if n == last else o for n, o in enumerate(pickup.offers)
        ),
    )


def closed(pickup: Pickup, answer: str) -> Pickup:
    """Close every offer that is still open: lapsed, or withdrawn since another has it."""
    return replace(
        pickup,
        offers=tuple(o if o.answer else replace(o, answer=answer) for o in pickup.offers),
    )


def refusing(case: Case, why: str) -> Outcome:
    """Nothing moves: the reason is named, and whoever answered is told it."""
    pickup = replace(case.pickup, refused=why)
    if not case.sender:
        return pickup, ()
    return pickup, case.text(case.sender, why, pickup, name=case.name(pickup.staff_id))
