"""A text as it comes through the door: kept first of all, made fit for storing, its sender known.

Nothing here decides what a text means. What a gateway delivers may be late, early, doubled or
broken; it is kept all the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import ClauseElement, Connection, bindparam, select, update

from bot.messages import Heard, Text
from bot.programme import Programme, e164
from bot.service import tables
from bot.service.prepared import Prepared
from bot.service.sheet import Change, Sheet
from bot.service.upsert import insert_into

OLDEST = timedelta(days=30)
"""A text that says it is older was stamped by a wrong clock; carriers keep texts for days."""

LONGEST_BODY = 4_000
"""Characters that are kept of one text: 26 joined segments are fewer."""

_T = tables.TextIn
_S = tables.Staff
_COLUMNS = ("gateway", "gateway_id", "sender", "body", "sent_at", "arrived_at", "pin", "photos")
_STAFF = select(_S.id).where(_S.active, _S.number == bindparam("called")).scalar_subquery()
CLAIM = Change(
    "claim",
    update(_T)
    .where(_T.id == bindparam("claim_row"))
    .values(hunter_id=bindparam("claim_hunter"), conversation_id=bindparam("claim_find")),
)
_OWN_PHOTO = (
    update(tables.Photo)
    .where(tables.Photo.key == bindparam("photo"))
    .values(text_id=bindparam("row"))
)


@dataclass(frozen=True, slots=True)
class Sender:
    """Who wrote: one E.164 number over all SMS gateways, or one chat session.

    `readable` is False where no telephone number can be made of what the gateway gave; the raw
    form is the number then.
    """

    channel: str
    number: str
    readable: bool = True


@dataclass(frozen=True, slots=True)
class Kept:
    """A text's row, and who on the roster has the number that sent it."""

    row: int
    staff_id: str = ""


class Receipt(Struct, frozen=True):
    """What became of a text. `fault` means that it is kept, but a person must read it."""

    repeat: bool = False
    text_id: int = 0
    code: str = ""
    fault: bool = False


@dataclass(frozen=True, slots=True)
class Arrived:
    """A text that is kept: its row, its event, and who sent it by which gateway."""

    row: int
    text: Text
    sender: Sender
    gateway: str


def sender_of(heard: Heard, programme: Programme) -> Sender:
    """The sender of a text by its gateway's kind and the programme's country."""
    raw = storable(heard.sender).strip()[:200]
    row = programme.head.gateways.get(heard.gateway)
    if row is not None and row.kind == "chat":
        return Sender("chat", raw)
    number = _number(raw, programme.head.country)
    return Sender("sms", number or raw, number is not None)


@lru_cache(4096)
def _number(raw: str, country: str) -> str | None:
    """As `e164`; whoever texts in texts again within minutes."""
    return e164(raw, country)


def text_of(heard: Heard, now: datetime) -> Text:
    """The event of a text. When it was sent is believed within what is possible."""
    return Text(
        body=storable(heard.body)[:LONGEST_BODY],
        sent_at=min(max(heard.sent_at, now - OLDEST), now),
        at=now,
        pin=heard.pin,
        photos=heard.photos,
    )


def keep_text(connection: Connection, heard: Heard, text: Text, called: str = "") -> Kept | None:
    """Keep a text before anything else is done with it, or None if it is there already. Who has
    the E.164 number `called` is looked up on the way.

    The first statement of its transaction: on SQLite it takes the writer's lock, on PostgreSQL
    a second delivery waits here for the first.
    """
    row = {
        "gateway": heard.gateway,
        "gateway_id": storable(heard.id),
        "sender": storable(heard.sender),
        "body": text.body,
        "sent_at": text.sent_at,
        "arrived_at": text.at,
        "pin": _json(text.pin),
        "photos": _json(text.photos),
        "called": called,
    }
    found = _NEW.first(connection, row)
    return Kept(found[0], found[1] or "") if found else None


def _new(dialect: str) -> ClauseElement:
    row: dict[str, Any] = {name: bindparam(name) for name in _COLUMNS}
    return insert_into(dialect, _T).values(row).on_conflict_do_nothing().returning(_T.id, _STAFF)


_NEW = Prepared(_new)


def claim_on(sheet: Sheet, row: int, text: Text, hunter: int | None, find: int | None) -> None:
    """Write on a kept text, with the rest of a sheet, whose it is and which find it belongs to."""
    values = {"claim_row": row, "claim_hunter": hunter, "claim_find": find}
    sheet.change(CLAIM, values)
    for photo in text.photos:
        sheet.connection.execute(_OWN_PHOTO, {"photo": photo.key, "row": row})


def claim_text(
    connection: Connection, row: int, text: Text, hunter: int | None, find: int | None
) -> None:
    """Write it at once."""
    sheet = Sheet(connection)
    claim_on(sheet, row, text, hunter, find)
    sheet.write()


def find_of_text(connection: Connection, row: int) -> int | None:
    """The row of the find that a kept text belongs to, None if it belongs to none."""
    return connection.scalar(select(_T.conversation_id).where(_T.id == row))


def storable(words: str) -> str:
    """Words that both databases can hold: PostgreSQL has no NUL, UTF-8 no lone surrogates."""
    return words.replace("\x00", "\ufffd").encode("utf-8", "replace").decode()


def _json(value: object) -> str | None:
    return msgspec.json.encode(value).decode() if value else None
