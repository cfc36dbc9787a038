"""A number typed into the chat is proved by a code that is sent to it and comes back.

Law: until then it is a number to ring, and opens nothing. A code is short-lived, good once, and
for the browser that asked alone; tries are counted before they are compared; only keyed hashes
are kept. Once proved, the browser speaks as that number's hunter, under a session name that
nobody has seen before, and what was told in the chat becomes that hunter's.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, delete, func, insert, select, update

from bot.messages import Address, Event, NumberProved, PickupEvent, SendText
from bot.service import tables
from bot.service.gather import Find, lock_find, lock_hunters, sender_row
from bot.service.posting import CHAT, out_row
from bot.talk.segments import spell_for_sms

GOOD_FOR = timedelta(minutes=10)
DIGITS = 6
MOST_TRIES = 5
WINDOW = timedelta(hours=1)
MOST_TO_NUMBER, MOST_FROM_ADDRESS, MOST_IN_ALL = 3, 20, 60
"""Codes in an hour: with five tries each, fifteen guesses in a million at one number; and what
the programme pays for texts at most, whoever asks from how many browsers."""

_K, _L, _H, _C = tables.ChatCode, tables.ChatLink, tables.Hunter, tables.Conversation
Play = Callable[[Connection, Find, Event | PickupEvent, datetime], object]


class CodeOrder(Struct, frozen=True):
    """Who asks for a code (a chat session, from an address), for which E.164 number. `wording`
    makes the text from the code."""

    session: str
    number: str
    asked_from: str
    wording: Callable[[str], str]


def draw_code() -> str:
    """Six digits."""
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"


@dataclass(frozen=True, slots=True)
class NumberDoor:
    """One transaction's way. `sms` is the gateway for people known by their number; `key` keys
    the hashes."""

    connection: Connection
    play: Play
    sms: str
    key: str
    now: datetime
    draw: Callable[[], str] = draw_code

    def ask(self, order: CodeOrder) -> bool:
        """Send a code; False where too many were asked for. To a number that wants no texts none
        goes, and whoever asked is not told so: he may be anybody."""
        asked_from, code = self._hash(order.asked_from), self.draw()
        # Whose number was typed and never proved is nobody of ours: no longer kept than counted.
        self.connection.execute(delete(_K).where(_K.made_at < self.now - WINDOW))
        if self._too_many(order.number, asked_from):
            return False
        row = {
            "session": order.session,
            "number": order.number,
            "asked_from": asked_from,
            "code_hash": self._hash(order.number, code),
            "made_at": self.now,
            "tries": 0,
        }
        self.connection.execute(insert(_K).values(row))
        if not self._wants_no_texts(order.number):
            text = SendText(spell_for_sms(order.wording(code)), "notice")
            out = out_row(text, Address(self.sms, order.number), self.now)
            self.connection.execute(insert(tables.TextOut).values(out))
        return True

    def prove(self, session: str, typed: str, fresh: str) -> str:
        """The number that is proved by what was typed, "" if none is. The session is known by
        its `fresh` name from then on."""
        tried = self._count_try(session)
        if tried is None:
            return ""
        row, number, wanted = tried
        digits = "".join(c for c in typed if c in "0123456789")
        if not hmac.compare_digest(wanted, self._hash(number, digits)):
            return ""
        self.connection.execute(update(_K).where(_K.id == row).values(used_at=self.now))
        self._link(session, number, fresh)
        return number

    def _count_try(self, session: str) -> tuple[int, str, str] | None:
        """Row, number and hash of the session's latest code, if it may still be tried; this try
        is counted then."""
        latest = select(func.max(_K.id)).where(_K.session == session).scalar_subquery()
        open_still = (_K.tries < MOST_TRIES, _K.used_at.is_(None))
        tried = (
            update(_K)
            .where(_K.id == latest, _K.made_at > self.now - GOOD_FOR, *open_still)
            .values(tries=_K.tries + 1)
            .returning(_K.id, _K.number, _K.code_hash)
        )
        row = self.connection.execute(tried).one_or_none()
        return (row.id, row.number, row.code_hash) if row else None

    def _link(self, session: str, number: str, fresh: str) -> None:
        own = self.connection.scalar(select(_H.id).where(_H.channel == CHAT, _H.number == session))
        hunter = sender_row(self.connection, ("sms", number), self.sms, self.now, lock=False).id
        lock_hunters(self.connection, {hunter, *([own] if own else [])})
        self.connection.execute(delete(_L).where(_L.session == session))
        link = {"session": fresh, "hunter_id": hunter, "made_at": self.now}
        self.connection.execute(insert(_L).values(link))
        for code in self._moved(own, hunter) if own else ():
            find = lock_find(self.connection, code)
            self.play(self.connection, find, NumberProved(self.now, number), self.now)

    def _moved(self, own: int, hunter: int) -> list[str]:
        """Give a chat's finds and texts to the number's hunter; the codes of those still open."""
        query = select(_C.code).where(_C.hunter_id == own, _C.stage != "closed").order_by(_C.id)
        codes = list(self.connection.scalars(query))
        for table in (_C, tables.TextIn, tables.TextOut):
            theirs = update(table).where(table.hunter_id == own)
            self.connection.execute(theirs.values(hunter_id=hunter))
        return codes

    def _too_many(self, number: str, asked_from: str) -> bool:
        recent = _K.made_at > self.now - WINDOW
        limits: tuple[tuple[ColumnElement[bool], int], ...] = (
            (_K.number == number, MOST_TO_NUMBER),
            (_K.asked_from == asked_from, MOST_FROM_ADDRESS),
            (recent, MOST_IN_ALL),
        )
        counted = (select(func.count()).select_from(_K).where(recent, row) for row, _ in limits)
        counts = [self.connection.scalar(query) or 0 for query in counted]
        return any(n >= most for n, (_, most) in zip(counts, limits, strict=True))

    def _wants_no_texts(self, number: str) -> bool:
        query = select(_H.opted_out).where(_H.channel == "sms", _H.number == number)
        return bool(self.connection.scalar(query))

    def _hash(self, *parts: str) -> str:
        return hmac.new(self.key.encode(), "\0".join(parts).encode(), sha256).hexdigest()


def address_of(connection: Connection, channel: str, number: str) -> tuple[str, str]:
    """Whose address a sender's is: a chat session that has proved a number is that number."""
    if channel != CHAT:
        return channel, number
    linked = select(_H.channel, _H.number).join(_L, _L.hunter_id == _H.id)
    row = connection.execute(linked.where(_L.session == number)).one_or_none()
    return (row.channel, row.number) if row else (channel, number)
