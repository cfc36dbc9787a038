"""PURE. What a pickup's events say of custody: who has the head now, where it was handed in.

A claim that the pickup itself refuses ("I have it", from a second person) is a hand-over all the
same: the trail keeps it, and says that two have it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from bot.fieldwork.custody import (
    DEPOT,
    HANDED_IN,
    HUNTER,
    LABORATORY,
    CustodyEvent,
    HandedOver,
    Made,
    State,
)
from bot.fieldwork.specimens import container_code
from bot.fieldwork.state import Pickup
from bot.messages import BroughtIn, FieldReply, PickupEvent

BY_TEXT = "text"
"""`by` of a hand-over that a member of staff texted about himself."""

BY_HUNTER = "hunter"
"""`by` of a hand-over that the hunter texted: he left it at a depot himself."""


@dataclass(frozen=True, slots=True)
class Stored:
    """How the hunter kept the head: its state, and when he said so."""

    state: State = ""
    cold_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class HandInPlaces:
    """Where a head may be handed in: depots by every name, and the words for the laboratory.

    `visits`: the law keeps the carcase where it lies, so that a collected pickup is a visit and
    only samples are handed in.
    """

    depots: tuple[tuple[str, str], ...] = ()
    """(name as it is listened for, in small letters; the depot's own name)"""
    laboratory: tuple[str, ...] = ()
    visits: bool = False

    def holder(self, heard: str) -> str:
        """Who has it after these words; HANDED_IN where they name no one place."""
        words = " ".join(re.findall(r"[^\W_]+", heard.lower()))
        named = {own for name, own in self.depots if _stands_in(name, words)}
        lab = any(_stands_in(word, words) for word in self.laboratory)
        if len(named) == 1 and not lab:
            return DEPOT + named.pop()
        return LABORATORY if lab and not named else HANDED_IN


def hand_in_places(
    depots: Iterable[tuple[str, Iterable[str]]], laboratory: Iterable[str], visits: bool
) -> HandInPlaces:
    """Depots as (name, other names), ready to be listened for."""
    listed = tuple((n.lower(), name) for name, also in depots for n in (name, *also))
    return HandInPlaces(listed, tuple(w.lower() for w in laboratory), visits)


def custody_of(
    before: Pickup, event: PickupEvent, after: Pickup, stored: Stored, places: HandInPlaces
) -> tuple[CustodyEvent, ...]:
    """What one event of a pickup adds to the trail of its head; mostly nothing."""
    if isinstance(event, BroughtIn):
        brought = after.state == "handed_in" != before.state
        return (_brought_himself(event, after, stored, places),) if brought else ()
    if not isinstance(event, FieldReply):
        return ()
    claimed = after.refused == "two_hold_it"
    moved = after.staff_id == event.staff_id and after.state != before.state
    if not (claimed or moved):
        return ()
    if event.answer == "collected" and not (places.visits or after.visit):
        return (_got(event, after, "" if claimed else HUNTER, stored),)
    if event.answer == "handed_in":
        return (*_before_hand_in(before, event, after, places), _brought(event, after, places))
    return ()


def _got(event: FieldReply, pickup: Pickup, giver: str, stored: Stored) -> HandedOver:
    return HandedOver(
        at=event.at,
        by=BY_TEXT,
        code=pickup.code,
        giver=giver,
        receiver=event.staff_id,
        place=pickup.place_words,
        state=stored.state,
        cold_since=stored.cold_since,
        words=event.words,
    )


def _brought_himself(
    event: BroughtIn, pickup: Pickup, stored: Stored, places: HandInPlaces
) -> HandedOver:
    """From the hunter's own hands, by his own word: nobody has signed for it yet."""
    receiver = DEPOT + event.place if event.place else places.holder(event.heard)
    return HandedOver(
        at=event.at,
        by=BY_HUNTER,
        code=pickup.code,
        giver=HUNTER,
        receiver=receiver,
        state=stored.state,
        cold_since=stored.cold_since,
        words=event.heard,
    )


def _before_hand_in(
    before: Pickup, event: FieldReply, after: Pickup, places: HandInPlaces
) -> tuple[CustodyEvent, ...]:
    """Samples of a visit begin with whoever took them."""
    if not (places.visits or after.visit) or after.refused:
        return ()
    return (Made(event.at, BY_TEXT, after.code, "tissue", holder=event.staff_id),)


def _brought(event: FieldReply, pickup: Pickup, places: HandInPlaces) -> HandedOver:
    number = container_number(event.heard, pickup.code)
    return HandedOver(
        at=event.at,
        by=BY_TEXT,
        code=container_code(pickup.code, number) if number else pickup.code,
        giver=event.staff_id,
        receiver=places.holder(event.heard),
        words=event.heard or event.words,
    )


def container_number(heard: str, code: str) -> int:
    """The container that is named behind a code ("K7R-4TX 2", "k7r4tx/2"); 0 where none is."""
    pattern = re.escape(code).replace(r"\-", "[ -]?") + r"[ /-]{0,2}([1-9])(?![\w:.]| ?[ap]m\b)"
    found = re.search(pattern, heard, re.IGNORECASE)
    return int(found[1]) if found else 0


def _stands_in(name: str, words: str) -> bool:
    return re.search(rf"\b{re.escape(name)}\b", words) is not None
