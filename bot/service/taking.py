"""A text as it comes through the door: kept first of all, made fit for storing, its sender known.

Nothing here decides what a text means. What a gateway delivers may be late, early, doubled or
broken; it is kept all the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, bindparam, select, update

from bot.messages import Heard, Text
from bot.programme import Programme, e164
from bot.service import tables
from bot.service.upsert import insert_new

OLDEST = timedelta(days=30)
"""A text that says it is older was stamped by a wrong clock; carriers keep texts for days."""

LONGEST_BODY = 4_000
"""Characters that are kept of one text: 26 joined segments are fewer."""

_T = tables.TextIn
_CLAIM = (
    update(_T)
    .where(_T.id == bindparam("row"))
    .values(hunter_id=bindparam("hunter"), conversation_id=bindparam("find"))
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
    number = e164(raw, programme.head.country)
    return Sender("sms", number or raw, number is not None)


def text_of(heard: Heard, now: datetime) -> Text:
    """The event of a text. When it was sent is believed within what is possible."""
    return Text(
        body=storable(heard.body)[:LONGEST_BODY],
        sent_at=min(max(heard.sent_at, now - OLDEST), now),
        at=now,
        pin=heard.pin,
        photos=heard.photos,
    )


def keep_text(connection: Connection, heard: Heard, text: Text) -> int | None:
    """Keep a text before anything else is done with it: its row, or None if it is there already.

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
    }
    found: int | None = insert_new(connection, _T, row)
    return found


def claim_text(
    connection: Connection, row: int, text: Text, hunter: int | None, find: int | None
) -> None:
    """Write on a kept text whose it is and which find it belongs to."""
    connection.execute(_CLAIM, {"row": row, "hunter": hunter, "find": find})
    for photo in text.photos:
        connection.execute(_OWN_PHOTO, {"photo": photo.key, "row": row})


def find_of_text(connection: Connection, row: int) -> int | None:
    """The row of the find that a kept text belongs to, None if it belongs to none."""
    return connection.scalar(select(_T.conversation_id).where(_T.id == row))


def storable(words: str) -> str:
    """Words that both databases can hold: PostgreSQL has no NUL, UTF-8 no lone surrogates."""
    return words.replace("\x00", "\ufffd").encode("utf-8", "replace").decode()


def _json(value: object) -> str | None:
    return msgspec.json.encode(value).decode() if value else None
