"""What may go out now: no reminder at night, no more segments than the programme pays for.

Law: advice, and what a person wrote, always goes; nothing is dropped. What is held waits for
room or for the morning, holds no later text back, and counts as no try. The coordinator is told
once: of a hunter on his find, of the whole programme on the first find that was held.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Protocol, TypeVar

from msgspec import Struct
from sqlalchemy import Connection, bindparam, exists, func, select, update

from bot.messages import AskCoordinator
from bot.programme import Programme
from bot.service import tables
from bot.service.database import Database
from bot.service.reviewing import open_review
from bot.talk.turn import by_day

QUIET, CAP_HUNTER, CAP_PROGRAMME = "quiet_hours", "cap_hunter", "cap_programme"
HELD = (QUIET, CAP_HUNTER, CAP_PROGRAMME)
"""What stands as the error of a text that is held, and as the reason of its review."""

ALWAYS = frozenset({"advice", "person"})
"""Kinds that go whatever they cost: what a hunter must know, emergencies among it, and what a
coordinator decided to say."""

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
AGAIN = {CAP_PROGRAMME: timedelta(minutes=5), CAP_HUNTER: HOUR}
"""When a text that is held for its price is looked at again."""


class Limits(Struct, frozen=True):
    """What binds sending. 0 is no limit; `free` are gateways that cost nothing; `by_day` turns
    an instant of the programme's night into its morning, and leaves any other."""

    hunter_day: int = 0
    programme_hour: int = 0
    free: tuple[str, ...] = ()
    by_day: Callable[[datetime], datetime] = lambda at: at


NO_LIMITS = Limits()


def limits_of(programme: Programme) -> Limits:
    """The limits that a programme's folder sets."""
    sending, rows = programme.head.sending, programme.head.gateways
    free = tuple(name for name, row in rows.items() if row.kind == "chat")
    morning = partial(by_day, programme=programme)
    return Limits(sending.hunter_day, sending.programme_hour, free, morning)


class Leaving(Protocol):
    """A claimed text, as far as limits look at it."""

    @property
    def id(self) -> int: ...
    @property
    def gateway(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def segments(self) -> int: ...
    @property
    def conversation_id(self) -> int | None: ...
    @property
    def hunter_id(self) -> int | None: ...


T = TypeVar("T", bound=Leaving)
_O, _C, _R = tables.TextOut, tables.Conversation, tables.Review
_PAID = func.coalesce(func.sum(_O.segments), 0)
_OF_ALL = select(_PAID).where(
    _O.sent_at > bindparam("since"), _O.gateway.not_in(bindparam("free", expanding=True))
)
# By way of the hunter's conversations, which are indexed: of numbers there are millions.
_OF_HUNTER = (
    select(_PAID)
    .join(_C, _C.id == _O.conversation_id)
    .where(
        _C.hunter_id == bindparam("hunter"),
        _C.last_event_at > bindparam("since"),
        _O.hunter_id == bindparam("hunter"),
        _O.sent_at > bindparam("since"),
    )
)
_PUT_OFF = (
    update(_O)
    .where(_O.id == bindparam("row"), _O.state == "waiting")
    .values(next_try_at=bindparam("until"), error=bindparam("why"), attempts=_O.attempts - 1)
)
_TOLD = select(exists().where(_R.reason == CAP_PROGRAMME, _R.closed_at.is_(None)))


def hold_back(
    database: Database, texts: Sequence[T], limits: Limits, now: datetime
) -> tuple[T, ...]:
    """Those of the claimed texts that may go now; the others are put off in the outbox."""
    with database.read() as connection:
        held = dict(_held(connection, texts, limits, now))
    if held:
        with database.write() as connection:
            for text in texts:
                if text.id in held:
                    _put_off(connection, text, held[text.id], limits, now)
    return tuple(text for text in texts if text.id not in held)


def _held(
    connection: Connection, texts: Sequence[T], limits: Limits, now: datetime
) -> Iterator[tuple[int, str]]:
    """Which texts must wait, and why: each counts for those behind it."""
    purse = _Purse(connection, limits, now)
    for text in texts:
        if text.kind == "reminder" and limits.by_day(now) > now:
            yield text.id, QUIET
        elif why := purse.refuses(text):
            yield text.id, why


class _Purse:
    """What was paid within the last hour and day, and is being paid by this round."""

    def __init__(self, connection: Connection, limits: Limits, now: datetime) -> None:
        self._connection = connection
        self._limits = limits
        self._now = now
        self._paid: dict[int | None, int] = {}

    def refuses(self, text: Leaving) -> str:
        """Why a text must wait, "" where it may go and is paid for."""
        if text.gateway in self._limits.free:
            return ""
        caps: dict[int | None, tuple[int, str]] = {
            None: (self._limits.programme_hour, CAP_PROGRAMME),
            **({text.hunter_id: (self._limits.hunter_day, CAP_HUNTER)} if text.hunter_id else {}),
        }
        caps = {whose: cap for whose, cap in caps.items() if cap[0]}
        for whose, (most, why) in caps.items():
            over = self._spent(whose) + text.segments > most
            if over and text.kind not in ALWAYS:
                return why
        for whose in caps:
            self._paid[whose] += text.segments
        return ""

    def _spent(self, whose: int | None) -> int:
        """Segments of one hunter's day, or of everybody's hour."""
        if whose not in self._paid:
            self._paid[whose] = self._sum(whose)
        return self._paid[whose]

    def _sum(self, whose: int | None) -> int:
        order: dict[str, object] = {"since": self._now - DAY, "hunter": whose}
        if whose is None:
            order = {"since": self._now - HOUR, "free": list(self._limits.free)}
        query = _OF_ALL if whose is None else _OF_HUNTER
        return int(self._connection.execute(query, order).scalar_one())


def _put_off(
    connection: Connection, text: Leaving, why: str, limits: Limits, now: datetime
) -> None:
    until = limits.by_day(now) if why == QUIET else now + AGAIN[why]
    connection.execute(_PUT_OFF, {"row": text.id, "until": until, "why": why})
    if why == QUIET or text.conversation_id is None:
        return
    if why == CAP_PROGRAMME and connection.scalar(_TOLD):
        return
    open_review(connection, text.conversation_id, AskCoordinator(why), now)
