"""Old texts into a file of their own, then out of the database.

Law: a text leaves the database only once it stands in a finished file, compared row by row; what
goes wrong in between leaves it in both. Finds, answers, events and evidence stay, so that every
talk can still be played again and no figure changes; what goes are the texts as carriers brought
and took them, their pictures, and what carriers said of them.

The file has the whole schema, and copies of the rows that the texts hang on and of the events, so
that a backup's tools open it and its talks can be played again. Talks in the web chat stay: a
browser counts its texts to know which of them are new.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, Table, delete, exists, func, or_, select, true
from sqlalchemy.orm import aliased

from bot.fieldwork.state import LIVE
from bot.service import tables
from bot.service.copying import Tell, must_be_same, rows_of, write_rows
from bot.service.database import Database
from bot.service.upsert import upsert

YOUNGEST = timedelta(days=90)
"""Nothing younger is archived: a carrier may still bring a text again, and people still ask."""
AT_ONCE = 200
"""Finds of one transaction: a text that comes in meanwhile must not wait for thousands."""

_C, _H, _P, _R = tables.Conversation, tables.Hunter, tables.Pickup, tables.Review
_I, _O, _F, _K = tables.TextIn, tables.TextOut, tables.Photo, tables.Carried
_E, _W = tables.Event, tables.Effect
_own = aliased(_H)
"""A find's own hunter, wherever a statement has the hunters' table already."""


class Archived(Struct, frozen=True):
    """How many rows of each table stand in the file."""

    rows: dict[str, int]

    @property
    def texts(self) -> int:
        """Texts of either direction."""
        return self.rows[_I.__tablename__] + self.rows[_O.__tablename__]


def copy_old_texts(source: Database, target: Database, before: datetime, tell: Tell) -> Archived:
    """The texts of all finds in which nothing happened since `before`, into an empty database.
    CopyError where a row is not the same there."""
    rows = dict[str, int]()
    with source.read() as old, target.write() as new:
        meant = _meant(before)
        for number, (table, where) in enumerate(meant.items(), 1):
            write_rows(new, table, rows_of(old, table, where), lambda written: None)
            rows[table.name] = must_be_same(table, rows_of(old, table, where), rows_of(new, table))
            tell("copied", number, len(meant))
    return Archived(rows)


def let_go(source: Database, archive: Database, before: datetime, now: datetime, tell: Tell) -> int:
    """Delete from the database the texts that the archive holds; how many finds had any. A find
    in which something happened meanwhile keeps all of its own."""
    with archive.read() as kept:
        finds = list(kept.scalars(select(_C.id).order_by(_C.id)))
        emptied = 0
        for start in range(0, len(finds), AT_ONCE):
            part = finds[start : start + AT_ONCE]
            with source.write() as live:
                emptied += _empty(live, kept, part, before, now)
            tell("let go", min(start + AT_ONCE, len(finds)), len(finds))
    return emptied


def _empty(
    live: Connection, kept: Connection, finds: list[int], before: datetime, now: datetime
) -> int:
    """Empty those that are as they were copied, and write down that and when."""
    mine = _settled(before) & _C.id.in_(finds)
    still = set(live.scalars(select(_C.id).where(mine).with_for_update()))
    for table in (_I, _O):
        there, here = (_how_many(connection, table, finds) for connection in (kept, live))
        still &= {find for find in finds if there.get(find, 0) == here.get(find, 0)}
    texts = select(_I.id).where(_I.conversation_id.in_(still))
    out = select(_O.id).where(_O.conversation_id.in_(still))
    live.execute(delete(_K).where(_K.outbox_id.in_(out)))
    live.execute(delete(_F).where(_F.text_id.in_(texts)))
    live.execute(delete(_O).where(_O.id.in_(out)))
    live.execute(delete(_I).where(_I.id.in_(texts)))
    for find in sorted(still):
        upsert(live, tables.Archived, {"conversation_id": find, "at": now}, ("conversation_id",))
    return len(still)


def _how_many(
    connection: Connection, table: type[tables.TextIn | tables.TextOut], finds: list[int]
) -> dict[int | None, int]:
    own = table.conversation_id
    counts = select(own, func.count()).where(own.in_(finds)).group_by(own)
    return {row[0]: row[1] for row in connection.execute(counts)}


def too_young(before: datetime, now: datetime) -> bool:
    """Whether that would take texts that are not old yet."""
    return before > now - YOUNGEST


def _settled(before: datetime) -> ColumnElement[bool]:
    """Conversations by SMS in which nothing happened since and nothing waits."""
    of_chat = exists().where(_own.id == _C.hunter_id, _own.channel == "chat") | exists().where(
        tables.ChatLink.hunter_id == _C.hunter_id
    )
    waits = or_(
        exists().where(_O.conversation_id == _C.id, _O.state == "waiting"),
        exists().where(_R.conversation_id == _C.id, _R.closed_at.is_(None)),
        exists().where(_P.conversation_id == _C.id, _P.name.in_(sorted(LIVE))),
        exists().where(_I.conversation_id == _C.id, _I.arrived_at >= before),
    )
    said = exists().where(_I.conversation_id == _C.id) | exists().where(_O.conversation_id == _C.id)
    return (_C.last_event_at < before) & said & ~of_chat & ~waits


def _meant(before: datetime) -> dict[Table, ColumnElement[bool]]:
    """The rows of each table that go into the file, parents first."""
    finds = select(_C.id).where(_settled(before))
    texts = select(_I.id).where(_I.conversation_id.in_(finds))
    events = (_E.stream == "conversation") & _E.stream_id.in_(finds)
    named = (
        (_C, _settled(before)),
        (_I, _I.conversation_id.in_(finds)),
        (_O, _O.conversation_id.in_(finds)),
    )
    meant = {
        _H: or_(*(_H.id.in_(select(x.hunter_id).where(own)) for x, own in named)),
        _C: _C.id.in_(finds),
        _I: _I.id.in_(texts),
        _F: _F.text_id.in_(texts),
        _E: events,
        _W: _W.event_id.in_(select(_E.id).where(events)),
        tables.Content: true(),
        _O: _O.conversation_id.in_(finds),
        _K: _K.outbox_id.in_(select(_O.id).where(_O.conversation_id.in_(finds))),
    }
    named_so = tables.Base.metadata.tables
    return {named_so[model.__tablename__]: where for model, where in meant.items()}
