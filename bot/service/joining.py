"""Long texts that come in parts: kept part by part, joined, handed on whole.

Law: a part is kept before it is acknowledged, whatever its order, and once however often it
comes. When all are there they are one text, in the transaction of the last. When one stays away
past the programme's patience, what is there is handed on with a mark in the gap, and a person
is told; a part that comes later still is handed on alone. References begin anew after 255, so a
day later, or with other words under the same number, it is another text (TS 23.040, 9.2.3.24.1).
"""

from __future__ import annotations

import hashlib
import json
from datetime import datetime, timedelta
from itertools import groupby

from msgspec import Struct
from sqlalchemy import Connection, bindparam, delete, or_, select, update

from bot.gateways.userdata import whole
from bot.messages import Heard, Part
from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.taking import storable
from bot.service.upsert import insert_into

INCOMPLETE = "text_incomplete"
"""The reason by which a text with a gap comes to the coordinator."""

GAP = "[...]"
REMEMBERED = timedelta(days=1)
"""How long a repeat of a part is known after its text was handed on."""

_L = tables.LongText
_ROW = select(*_L.__table__.columns)
_KEY = ("gateway", "sender", "recipient", "ref", "total")
_MINE = _ROW.where(*(getattr(_L, name) == bindparam(name) for name in _KEY)).with_for_update()
_DUE = (
    select(_L.id)
    .where(
        or_(
            _L.due_at <= bindparam("now"),
            _L.due_at.is_(None) & (_L.began_at <= bindparam("forgotten")),
        )
    )
    .order_by(_L.id)
    .limit(bindparam("most"))
)
_OVERDUE = _ROW.where(_L.id == bindparam("row"), _L.due_at <= bindparam("now")).with_for_update(
    skip_locked=True
)

Parts = dict[str, dict[str, str]]


class HandedOn(Struct, frozen=True):
    """A text made of parts, and whether any is missing."""

    heard: Heard
    incomplete: bool = False


def take_part(
    connection: Connection, heard: Heard, part: Part, wait: timedelta, now: datetime
) -> tuple[HandedOn, ...]:
    """Keep one part; the texts that are to be taken now. Usually none, or the one it completes."""
    row = _lock(connection, heard, part, now, now + wait)
    parts: Parts = json.loads(row.parts)
    began, due = row.began_at, row.due_at
    known, own = parts.get(str(part.number)), _kept(heard)
    out: list[HandedOn] = []
    if now - began > REMEMBERED or (known and known["digest"] != own["digest"]):
        if due is not None:
            out.append(_join(row, parts))
        parts, began, due = {}, now, now + wait
    elif known:
        return ()
    parts[str(part.number)] = own
    late = due is None
    if late or len(parts) == part.of:
        out.append(_join(row, {str(part.number): own} if late else parts))
        parts, due = _without_words(parts), None
    _save(connection, row.id, parts, began, due)
    return tuple(out)


def due_rows(database: Database, now: datetime, limit: int) -> tuple[int, ...]:
    """Rows whose wait is over, or that need not be remembered any more."""
    order = {"now": now, "forgotten": now - REMEMBERED, "most": limit}
    with database.read() as connection:
        return tuple(connection.scalars(_DUE, order))


def take_overdue(connection: Connection, row: int, now: datetime) -> HandedOn | None:
    """Close one row: what there is of its text, or None where that was handed on before."""
    found = connection.execute(_OVERDUE, {"row": row, "now": now}).one_or_none()
    if found is None:
        old = (_L.id == row) & _L.due_at.is_(None) & (_L.began_at <= now - REMEMBERED)
        connection.execute(delete(_L).where(old))
        return None
    parts: Parts = json.loads(found.parts)
    _save(connection, row, _without_words(parts), found.began_at, None)
    return _join(found, parts)


def forget(connection: Connection, senders: list[str]) -> None:
    """Delete every part that came from these senders, as their gateways wrote them."""
    connection.execute(delete(_L).where(_L.sender.in_(senders)))


def _lock(connection: Connection, heard: Heard, part: Part, now: datetime, due: datetime) -> Found:
    """The row of a part's text, made if it is the first. The insert comes first, so that of two
    parts at the same time the second waits for the first and sees it."""
    key = {
        "gateway": heard.gateway,
        "sender": storable(heard.sender),
        "recipient": storable(part.to),
        "ref": part.ref,
        "total": part.of,
    }
    new = insert_into(connection.dialect.name, _L).values(
        **key, parts="{}", began_at=now, due_at=due
    )
    connection.execute(new.on_conflict_do_nothing())
    return connection.execute(_MINE, key).one()


def _save(
    connection: Connection, row: int, parts: Parts, began: datetime, due: datetime | None
) -> None:
    values = {"parts": json.dumps(parts), "began_at": began, "due_at": due}
    connection.execute(update(_L).where(_L.id == row).values(values))


def _kept(heard: Heard) -> dict[str, str]:
    """A part as it is kept. JSON's escapes hold half a pair of surrogates, which no database
    column would."""
    digest = hashlib.sha256(heard.body.encode("utf-8", "surrogatepass")).hexdigest()[:16]
    sent = heard.sent_at.isoformat()
    return {"body": heard.body, "digest": digest, "id": storable(heard.id), "sent_at": sent}


def _without_words(parts: Parts) -> Parts:
    return {number: {**kept, "body": ""} for number, kept in parts.items()}


def _join(row: Found, parts: Parts) -> HandedOn:
    """One text of the parts that are there, a mark for each gap."""
    bodies = [parts[str(n)]["body"] if str(n) in parts else None for n in range(1, row.total + 1)]
    pieces = [
        f" {GAP} " if missing else "".join(body for body in group if body)
        for missing, group in groupby(bodies, key=lambda body: body is None)
    ]
    named = "\n".join(parts[number]["id"] for number in sorted(parts, key=int))
    told = f"{row.sender}\n{row.recipient}\n{row.ref}\n{row.total}\n{named}"
    return HandedOn(
        Heard(
            id=f"parts-{hashlib.sha256(told.encode()).hexdigest()[:32]}",
            gateway=row.gateway,
            sender=row.sender,
            body=whole("".join(pieces)).strip(),
            sent_at=min(datetime.fromisoformat(kept["sent_at"]) for kept in parts.values()),
        ),
        incomplete=None in bodies,
    )
