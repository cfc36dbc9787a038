"""One event and all that it sets off in both machines, decided in memory before any is stored.

What the conversation orders becomes an event of its pickup, what the pickup tells becomes an
event of its conversation, until nothing is left to say. No SQL here: a machine that raises
leaves nothing behind.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from msgspec.structs import replace
from sqlalchemy import Connection

from bot.fieldwork.asking_round import Asked
from bot.fieldwork.custody import CustodyEvent
from bot.fieldwork.dispatch import Roster
from bot.fieldwork.replies import (
    Ask,
    JobView,
    NothingOpen,
    OfferView,
    PassOn,
    StaffReading,
)
from bot.fieldwork.state import Pickup, pickup_of
from bot.messages import (
    BroughtIn,
    CalledOff,
    CallOff,
    Effect,
    Event,
    Opened,
    OpenPickup,
    PickupChanged,
    PickupEvent,
    TakeIn,
    TellHunter,
    Text,
    UpdatePickup,
)
from bot.programme import Member
from bot.talk.route import Facts, Route
from bot.talk.state import Conversation

MOST_MOVES = 32
"""One event sets off three or four more; so many mean that the machines talk in circles."""

Choose = Callable[[Facts, str, datetime, bool], Route]
"""Whose text it is: facts, the text's words, when it was sent, whether staff would say so."""


class StaffEar(Protocol):
    """What reads the texts of field staff, and words what is asked back and what is asked for."""

    def read(
        self, body: str, offers: tuple[OfferView, ...], jobs: tuple[JobView, ...], misses: int
    ) -> StaffReading: ...

    def ask(self, ask: Ask | PassOn | NothingOpen) -> str: ...

    def round_asked(self, body: str) -> Asked: ...

    def round(self, member: Member, pickups: Sequence[Pickup], link: str) -> str: ...


class AgeEar(Protocol):
    """What takes a text of field staff that tells an age: it keeps it, and gives the answer and
    the row of the find; None where it tells none."""

    def asks(self, body: str) -> bool: ...

    def take(
        self, connection: Connection, text: Text, by: str
    ) -> tuple[str, int | None] | None: ...


Step = Callable[[Conversation, Event], tuple[Conversation, tuple[Effect, ...]]]
Move = Callable[[Pickup, PickupEvent, Roster], tuple[Pickup, tuple[Effect, ...]]]


TellCustody = Callable[[Pickup, PickupEvent, Pickup, Conversation], tuple[CustodyEvent, ...]]
"""What one event of a pickup (before, event, after, its find's talk) adds to a custody trail."""


def _nothing(
    before: Pickup, event: PickupEvent, after: Pickup, talk: Conversation
) -> tuple[CustodyEvent, ...]:
    return ()


class EndlessTalkError(RuntimeError):
    """The two machines answer each other without end: our own fault."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What decides, with what is in force bound into it, and the hashes of that."""

    choose: Choose
    staff: StaffEar
    step: Step
    move: Move
    dialog_hash: str
    programme_hash: str
    custody: TellCustody = _nothing
    describe: Callable[[Conversation], str] = lambda talk: talk.code
    """A conversation in words, for searching."""
    ages: AgeEar | None = None


@dataclass(frozen=True, slots=True)
class Moved:
    """One event of one machine, and what came of it: two conversations, or two pickups."""

    event: Event | PickupEvent
    before: Conversation | Pickup
    after: Conversation | Pickup
    effects: tuple[Effect, ...]

    @property
    def idle(self) -> bool:
        """Whether nothing came of it at all, as of a wait that the machine has left behind."""
        return not self.effects and _unmarked(self.after) == _unmarked(self.before)

    @property
    def of_pickup(self) -> bool:
        """Whose event it is."""
        return isinstance(self.before, Pickup)


def _unmarked(state: Conversation | Pickup) -> Conversation | Pickup:
    """The state without the note of what was refused, which by itself is no change."""
    return replace(state, refused="") if isinstance(state, Pickup) else state


@dataclass(frozen=True, slots=True)
class Story:
    """Where both machines stand after all of it, and how they came there, in order."""

    conversation: Conversation
    pickup: Pickup | None
    moves: tuple[Moved, ...]


@dataclass(slots=True)
class _Telling:
    rules: Rules
    roster: Callable[[], Roster]
    number: str
    conversation: Conversation
    pickup: Pickup | None

    def take(self, event: Event | PickupEvent) -> Moved:
        if isinstance(event, PickupEvent):
            return self.carry(event)
        before = self.conversation
        self.conversation, effects = self.rules.step(before, event)
        return Moved(event, before, self.conversation, effects)

    def carry(self, event: PickupEvent) -> Moved:
        before = self.pickup
        if before is None:
            raise LookupError(f"no pickup for {type(event).__name__}")
        self.pickup, effects = self.rules.move(before, event, self.roster())
        return Moved(event, before, self.pickup, effects)

    def caused(self, effect: Effect, by: Event | PickupEvent) -> Event | PickupEvent | None:
        """What an effect of one machine is to the other."""
        if isinstance(effect, TellHunter):
            return effect.news
        if isinstance(effect, OpenPickup):
            return self.open(effect, by.at)
        if isinstance(effect, TakeIn):
            return self.take_in(effect, by.at)
        if self.pickup is None:
            return None
        if isinstance(effect, CallOff):
            return CalledOff(by.at, getattr(by, "by", "hunter"), effect.reason)
        if isinstance(effect, UpdatePickup):
            return _changed(by.at, effect)
        return None

    def open(self, order: OpenPickup, at: datetime) -> PickupEvent:
        """A find has one pickup: ordered again, it is the old one that changes, unless it was
        called off."""
        if self.pickup is not None and self.pickup.state != "called_off":
            return _changed(at, order)
        # Staff must be able to ring. Whoever texts has a number, unless another was given.
        if not order.contact and self.conversation.channel == "sms":
            order = replace(order, contact=self.number)
        self.pickup = pickup_of(self.conversation.code, order)
        return Opened(at)

    def take_in(self, order: TakeIn, at: datetime) -> PickupEvent:
        """What the hunter brings in himself has a pickup too, if only for its custody."""
        if self.pickup is None:
            self.pickup = pickup_of(self.conversation.code, order.order)
        return BroughtIn(at, order.heard, order.place)


def _changed(at: datetime, order: OpenPickup | UpdatePickup) -> PickupChanged:
    return PickupChanged(
        at=at,
        place_words=order.place_words,
        lat=order.lat,
        lon=order.lon,
        details=order.details,
        stages=order.stages,
        access=order.access,
        contact=order.contact,
    )


def unfold(
    first: Event | PickupEvent,
    conversation: Conversation,
    pickup: Pickup | None,
    rules: Rules,
    roster: Callable[[], Roster],
    number: str,
) -> Story:
    """Let an event run its course. `roster` is asked for only if a pickup moves; `number` is
    the hunter's own. Whatever a machine raises comes through."""
    telling = _Telling(rules, roster, number, conversation, pickup)
    queue: deque[Event | PickupEvent] = deque([first])
    moves: list[Moved] = []
    while queue:
        if len(moves) == MOST_MOVES:
            raise EndlessTalkError(f"{MOST_MOVES} events from one")
        moved = telling.take(queue.popleft())
        moves.append(moved)
        caused = (telling.caused(effect, moved.event) for effect in moved.effects)
        queue.extend(event for event in caused if event is not None)
    return Story(telling.conversation, telling.pickup, tuple(moves))
