"""What a transaction must know before it decides, read under the locks that keep it true.

A hunter's row is the lock of all his finds and of their pickups, and hunters are locked in the
order of their row numbers, so that no two transactions wait for each other. What is read of a
find is read after it. SQLite has one writer and needs none of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, bindparam, select, update

from bot.fieldwork import state as pickup_state
from bot.service import tables
from bot.service.prepared import Row, prepared
from bot.service.upsert import insert_new
from bot.talk import state as talk_state

MOST_TALKS = 8
"""A sender's newest conversations that a text may belong to."""


@dataclass(frozen=True, slots=True)
class Hunter:
    """A hunter's row, locked."""

    id: int
    channel: str
    number: str
    gateway: str
    language: str
    opted_out: bool


@dataclass(frozen=True, slots=True)
class Find:
    """A locked hunter's conversation with its state, and its pickup's where there is one."""

    id: int
    hunter: Hunter
    version: int
    conversation: talk_state.Conversation
    pickup_id: int | None = None
    pickup_version: int = 0
    pickup: pickup_state.Pickup | None = None


@dataclass(frozen=True, slots=True)
class Talk:
    """One conversation of a hunter, before it is chosen; `pickup` is its pickup's state, as it is
    stored, "" if it has none."""

    id: int
    version: int
    conversation: talk_state.Conversation
    last_at: datetime
    pickup_id: int | None = None
    pickup_version: int = 0
    pickup: str = ""


_H, _C, _P = tables.Hunter, tables.Conversation, tables.Pickup
_HUNTER = select(_H.id, _H.channel, _H.number, _H.gateway, _H.language, _H.opted_out)
_AT = _HUNTER.where(_H.channel == bindparam("channel"), _H.number == bindparam("number"))
_BY_NUMBER, _BY_NUMBER_LOCKED = prepared(_AT), prepared(_AT.with_for_update())
_BY_IDS = _HUNTER.where(_H.id.in_(bindparam("ids", expanding=True))).order_by(_H.id)
_TALK = (
    select(_C.id, _C.version, _C.state, _C.last_event_at)
    .add_columns(_P.id, _P.version, _P.state)
    .outerjoin(_P, _P.conversation_id == _C.id)
)
_TALKS = prepared(
    _TALK.where(_C.hunter_id == bindparam("hunter"))
    .order_by(_C.last_event_at.desc(), _C.id.desc())
    .limit(MOST_TALKS)
)
_LATEST_GATEWAY = update(_H).where(_H.id == bindparam("row")).values(gateway=bindparam("latest"))


def sender_row(
    connection: Connection,
    address: tuple[str, str],
    gateway: str,
    now: datetime,
    *,
    lock: bool = True,
) -> Hunter:
    """The hunter of a (channel, number), made if he is new, with the gateway by which he wrote
    last. Unlocked it serves only to look at."""
    key = dict(zip(("channel", "number"), address, strict=True))
    statement = _BY_NUMBER_LOCKED if lock else _BY_NUMBER
    row = statement.first(connection, key)
    if row is None:
        new = key | {"gateway": gateway, "language": "", "opted_out": False, "first_text_at": now}
        made = insert_new(connection, _H, new)
        if made is not None:
            return Hunter(made, *address, gateway, "", False)
        row = statement.all(connection, key)[0]
    found = Hunter(*row)
    if found.gateway != gateway and lock:
        connection.execute(_LATEST_GATEWAY, {"row": found.id, "latest": gateway})
    return replace(found, gateway=gateway)


def lock_hunters(connection: Connection, ids: set[int], *, wait: bool = True) -> dict[int, Hunter]:
    """These hunters' rows, locked in the order of their numbers; without waiting, those that
    nobody else holds."""
    if not ids:
        return {}
    statement = _BY_IDS.with_for_update(skip_locked=not wait)
    rows = connection.execute(statement, {"ids": sorted(ids)})
    return {row.id: Hunter(*row) for row in rows}


def talks_of(connection: Connection, hunter: Hunter) -> tuple[Talk, ...]:
    """A locked hunter's newest conversations, newest last."""
    rows = _TALKS.all(connection, {"hunter": hunter.id})
    return tuple(_talk(row) for row in reversed(rows))


def newest_find(connection: Connection, hunter: Hunter) -> tuple[int, str] | None:
    """Row and code of a hunter's newest find, its state unread."""
    newest = select(_C.id, _C.code).where(_C.hunter_id == hunter.id).order_by(_C.id.desc())
    row = connection.execute(newest.limit(1)).one_or_none()
    return (row.id, row.code) if row else None


def hunter_of(connection: Connection, code: str) -> int:
    """Whose find this is; LookupError if there is none of this code. Locks nothing."""
    found = connection.scalar(select(_C.hunter_id).where(_C.code == code))
    if found is None:
        raise LookupError("no find of this code")
    return found


def find_of(hunter: Hunter, talk: Talk) -> Find:
    """A locked hunter's conversation together with its pickup."""
    if talk.pickup_id is None:
        return Find(talk.id, hunter, talk.version, talk.conversation)
    pickup = (talk.pickup_id, talk.pickup_version, pickup_state.load(talk.pickup))
    return Find(talk.id, hunter, talk.version, talk.conversation, *pickup)


def find_by(connection: Connection, hunter: Hunter, where: ColumnElement[bool]) -> Find:
    """The find of a locked hunter that a condition on conversations picks out."""
    row = connection.execute(_TALK.where(where, _C.hunter_id == hunter.id)).one()
    return find_of(hunter, _talk(tuple(row)))


def lock_find(connection: Connection, code: str) -> Find:
    """One find by its code, with every lock; LookupError if there is none."""
    owner = hunter_of(connection, code)
    hunter = lock_hunters(connection, {owner})[owner]
    return find_by(connection, hunter, _C.code == code)


def _talk(row: Row) -> Talk:
    find, version, state, last_at, pickup_id, pickup_version, pickup = row
    talk = talk_state.load(state)
    return Talk(find, version, talk, last_at, pickup_id, pickup_version or 0, pickup or "")
