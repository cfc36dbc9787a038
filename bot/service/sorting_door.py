"""What a coordinator types in, joins and splits: each one transaction, by the same machines.

Two finds are locked as any two are: their hunters by the order of their row numbers. Nothing is
deleted or moved; both conversations get an event.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from msgspec import Struct
from sqlalchemy import Connection, select

from bot.messages import (
    Brought,
    Entered,
    Event,
    Heard,
    Joined,
    PickupEvent,
    SplitOff,
    Text,
)
from bot.programme import Programme, e164
from bot.reading.codes import is_code
from bot.service import tables
from bot.service.beginning import begin_find
from bot.service.codes import Draw
from bot.service.gather import (
    Find,
    Hunter,
    Talk,
    find_by,
    hunter_of,
    lock_hunters,
    newest_find,
    sender_row,
)
from bot.service.taking import claim_text, keep_text, storable, text_of
from bot.service.unfold import Rules
from bot.talk.sorting import CannotSort, carried

DESK = "desk"
"""The channel, and the gateway, of those who are told things aloud and never by text."""

Play = Callable[[Connection, Find, Event | PickupEvent, datetime], object]
How = Literal["telephone", "counter", "crate"]


class Entry(Struct, frozen=True):
    """What was told at the desk: `id` names the form, so that one sent twice is one find.

    `number` may be "" and is as it was typed; `code` is one that was printed beforehand, or "".
    `texts` asks for the bot's own texts to that number.
    """

    id: str
    by: str
    how: How
    words: str
    number: str = ""
    code: str = ""
    texts: bool = False


@dataclass(frozen=True, slots=True)
class SortingDoor:
    """One transaction's way. `sms` is the gateway for people known by their number."""

    connection: Connection
    play: Play
    rules: Rules
    draw: Draw
    programme: Programme
    sms: str
    now: datetime

    def enter(self, entry: Entry) -> str:
        """A find from what was told; its code. CannotSort where number or code will not do.

        A form that comes twice gives the code that it gave the first time.
        """
        channel, number, gateway = self._who(entry)
        heard = Heard(entry.id, DESK, f"{entry.how}, {entry.by}", entry.words, self.now)
        text = text_of(heard, self.now)
        kept = keep_text(self.connection, heard, text)
        if kept is None:
            return self._code_of(entry.id)
        hunter = sender_row(self.connection, (channel, number), gateway, self.now)
        code = self._printed(entry.code)
        talk = self._begin(hunter, code)
        claim_text(self.connection, kept.row, text, hunter.id, talk.id)
        self._play_in(talk.conversation.code, text)
        event = Entered(self.now, entry.by, entry.how, texts=gateway != DESK)
        self._play_in(talk.conversation.code, event)
        return talk.conversation.code

    def join(self, code: str, into: str, by: str, turn: int) -> None:
        """End one conversation into another about the same animal, which gets its answers.

        LookupError for an unknown code; CannotSort where it cannot be.
        """
        if code == into:
            raise CannotSort("a conversation cannot be joined to itself")
        ending, staying = self._both(code, into)
        on_turn(ending, turn)
        if staying.conversation.stage == "closed":
            raise CannotSort(f"{into} is closed")
        answers = carried(ending.conversation, ending.conversation.answers)
        self.play(self.connection, ending, Joined(self.now, by, into), self.now)
        self._play_in(into, Brought(self.now, by, code, "joined", answers))

    def split(self, code: str, by: str, words: str, keys: tuple[str, ...], turn: int) -> str:
        """A find of its own for a second animal; its code. `keys` are the questions whose
        answers both share. CannotSort if nobody can read the words."""
        first = self._locked(code)
        on_turn(first, turn)
        answers = carried(first.conversation, keys)
        talk = self._begin(first.hunter)
        new = talk.conversation.code
        self.play(self.connection, first, SplitOff(self.now, by, new), self.now)
        self._play_in(new, Brought(self.now, by, code, "split", answers, words))
        return new

    def _begin(self, hunter: Hunter, printed: str = "") -> Talk:
        greeted = newest_find(self.connection, hunter) is not None
        how = (self.rules, self.draw, self.now)
        return begin_find(self.connection, hunter, *how, greeted=greeted, printed=printed)

    def _who(self, entry: Entry) -> tuple[str, str, str]:
        """(channel, number, gateway) of whoever told it."""
        if not entry.number.strip():
            return DESK, f"{DESK}-{storable(entry.id)}", DESK
        number = e164(entry.number, self.programme.head.country)
        if number is None:
            raise CannotSort(f"{entry.number!r} is no telephone number here")
        return ("sms", number, self.sms) if entry.texts and self.sms else (DESK, number, DESK)

    def _printed(self, typed: str) -> str:
        """A code as it is stored, from how it was typed; "" for none."""
        plain = typed.upper().replace("-", "").replace(" ", "")
        if plain and not is_code(plain):
            raise CannotSort(f"{typed!r} is no code: one of its characters is wrong")
        return f"{plain[:3]}-{plain[3:]}" if plain else ""

    def _code_of(self, entry: str) -> str:
        text, find = tables.TextIn, tables.Conversation
        query = select(find.code).join(text, text.conversation_id == find.id)
        known = query.where(text.gateway == DESK, text.gateway_id == storable(entry))
        return str(self.connection.scalar(known))

    def _locked(self, code: str) -> Find:
        hunters = lock_hunters(self.connection, {hunter_of(self.connection, code)})
        (hunter,) = hunters.values()
        return find_by(self.connection, hunter, tables.Conversation.code == code)

    def _both(self, code: str, into: str) -> tuple[Find, Find]:
        owners = [hunter_of(self.connection, each) for each in (code, into)]
        hunters = lock_hunters(self.connection, set(owners))
        column = tables.Conversation.code
        one, other = (
            find_by(self.connection, hunters[owner], column == each)
            for owner, each in zip(owners, (code, into), strict=True)
        )
        return one, other

    def _play_in(self, code: str, event: Event | Text) -> None:
        """An event for a find whose locks this transaction has, in its newest state."""
        self.play(self.connection, self._locked(code), event, self.now)


class MovedOnError(RuntimeError):
    """The find is no longer at the turn that the coordinator saw."""


def on_turn(find: Find, expected: int | None) -> None:
    """MovedOnError if the talk is past the turn that was seen."""
    if expected is not None and find.conversation.turn != expected:
        raise MovedOnError(f"turn {find.conversation.turn}, not {expected}")
