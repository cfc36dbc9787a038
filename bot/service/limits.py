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
from sqlalchemy import Connection, bindparam, func, select, update

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
# By way of the hunters' conversations, which are indexed: of numbers there are millions.
_OF_HUNTERS = (
    select(_O.hunter_id, _PAID)
    .join(_C, _C.id == _O.conversation_id)
    .where(
        _C.hunter_id.in_(bindparam("hunters", expanding=True)),
        _C.last_event_at > bindparam("since"),
        _O.hunter_id == _C.hunter_id,
        _O.sent_at > bindparam("since"),
    )
    .group_by(_O.hunter_id)
)
_PUT_OFF = (
    update(_O)
    .where(_O.id == bindparam("row"), _O.state == "waiting")
    .values(next_try_at=bindparam("until"), error=bindparam("why"), attempts=_O.attempts - 1)
)
_OPEN = select(_R.id).where(_R.reason == bindparam("why"), _R.closed_at.is_(None)).limit(1)
_OPEN_OF_HUNTER = _OPEN.join(_C, _C.id == _R.conversation_id).where(
    _C.hunter_id == bindparam("hunter")
)


def hold_back(
    database: Database, texts: Sequence[T], limits: Limits, now: datetime
) -> tuple[T, ...]:
    """Those of the claimed texts that may go now; the others are put off in the outbox."""
    held = dict(_held(_purse(database, texts, limits, now), texts, limits, now))
    if held:
        with database.write() as connection:
            for text in texts:
                if text.id in held:
                    _put_off(connection, text, held[text.id], limits, now)
    return tuple(text for text in texts if text.id not in held)


def _held(
    purse: _Purse, texts: Sequence[T], limits: Limits, now: datetime
) -> Iterator[tuple[int, str]]:
    """Which texts must wait, and why: each that goes counts for those behind it."""
    for text in texts:
        if text.kind == "reminder" and limits.by_day(now) > now:
            yield text.id, QUIET
        elif text.gateway not in limits.free and (why := purse.refuses(text)):
            yield text.id, why


class _Purse:
    """What was paid by everybody within the hour and by hunters within the day, and what this
    round adds. Workers do not see each other's rounds, and may overdraw it by one round each."""

    def __init__(self, limits: Limits, hour: int, days: dict[int, int]) -> None:
        self._limits = limits
        self._hour = hour
        self._days = days

    def refuses(self, text: Leaving) -> str:
        """Why a text must wait, "" where it may go and is paid for."""
        hour = self._hour + text.segments
        day = self._days.get(text.hunter_id or 0, 0) + text.segments
        if text.kind not in ALWAYS:
            if 0 < self._limits.programme_hour < hour:
                return CAP_PROGRAMME
            if text.hunter_id and 0 < self._limits.hunter_day < day:
                return CAP_HUNTER
        self._hour = hour
        if text.hunter_id:
            self._days[text.hunter_id] = day
        return ""


def _purse(database: Database, texts: Sequence[T], limits: Limits, now: datetime) -> _Purse:
    """What was paid so far, looked up for as many limits as there are."""
    hunters = sorted({text.hunter_id for text in texts if text.hunter_id})
    hour, days = 0, {}
    with database.read() as connection:
        if limits.programme_hour:
            order = {"since": now - HOUR, "free": list(limits.free)}
            hour = int(connection.execute(_OF_ALL, order).scalar_one())
        if limits.hunter_day and hunters:
            rows = connection.execute(_OF_HUNTERS, {"since": now - DAY, "hunters": hunters})
            days = {hunter: int(paid) for hunter, paid in rows if hunter is not None}
    return _Purse(limits, hour, days)


def _put_off(
    connection: Connection, text: Leaving, why: str, limits: Limits, now: datetime
) -> None:
    until = limits.by_day(now) if why == QUIET else now + AGAIN[why]
    connection.execute(_PUT_OFF, {"row": text.id, "until": until, "why": why})
    if why == QUIET or text.conversation_id is None:
        return
    told = _OPEN if why == CAP_PROGRAMME else _OPEN_OF_HUNTER
    order = {"why": why, "hunter": text.hunter_id}
    if connection.scalar(told, order) is not None:
        return
    open_review(connection, text.conversation_id, AskCoordinator(why), now)
