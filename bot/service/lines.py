"""The lines of a talk, in and out, as they are read side by side."""

from __future__ import annotations

import msgspec
from sqlalchemy import Connection, select

from bot.messages import Photo, Pin
from bot.service import tables
from bot.service.columns import Found
from bot.service.desk_rows import ChatTalk, Line
from bot.service.number_door import address_of
from bot.talk.state import Conversation, load

_I, _O, _H, _C = tables.TextIn, tables.TextOut, tables.Hunter, tables.Conversation
_IN = select(_I.id, _I.hunter_id, _I.body, _I.sent_at, _I.arrived_at, _I.pin, _I.photos)
_OUT = select(
    *(_O.id, _O.hunter_id, _O.body, _O.kind, _O.state, _O.error, _O.segments),
    *(_O.decided_at, _O.sent_at, _O.report, _O.reported_at),
)

_INWARD = 100_000
"""A chat's point is (texts in) x this + (texts out): no browser writes so many in one session."""


def lines_of(connection: Connection, find_id: int, hunter_id: int) -> tuple[Line, ...]:
    """Every text about one find, oldest first, those with field staff among them."""
    inward = connection.execute(_IN.where(_I.conversation_id == find_id).order_by(_I.id))
    outward = connection.execute(_OUT.where(_O.conversation_id == find_id).order_by(_O.id))
    lines = [_line_in(row, hunter_id) for row in inward]
    return _in_order([*lines, *(_line_out(row) for row in outward)])


def chat_lines(connection: Connection, session: str, after: int) -> ChatTalk:
    """A chat session's lines after a point, and how its newest talk stands; what was withdrawn
    is counted and not shown. A session that has proved a number has all of that hunter's."""
    channel, number = address_of(connection, "chat", session)
    hunter = connection.scalar(select(_H.id).where(_H.channel == channel, _H.number == number))
    proved = number if channel != "chat" else ""
    if hunter is None:
        return ChatTalk((), 0, number=proved)
    seen_in, seen_out = divmod(max(after, 0), _INWARD)
    inward = connection.execute(
        _IN.where(_I.hunter_id == hunter).order_by(_I.id).offset(seen_in)
    ).all()
    rows = connection.execute(
        _OUT.where(_O.hunter_id == hunter).order_by(_O.id).offset(seen_out)
    ).all()
    outward = [_line_out(row) for row in rows if row.state != "withdrawn"]
    point = (seen_in + len(inward)) * _INWARD + seen_out + len(rows)
    lines = _in_order([*(_line_in(row, hunter) for row in inward), *outward])
    return ChatTalk(lines, point, _newest_talk(connection, hunter), proved)


def _newest_talk(connection: Connection, hunter: int) -> Conversation | None:
    """The talk that a hunter's next words go on with, as routing sees it: an open one first."""
    query = select(_C.state).where(_C.hunter_id == hunter)
    order = (_C.stage == "closed", _C.last_event_at.desc(), _C.id.desc())
    stored = connection.scalar(query.order_by(*order).limit(1))
    return load(stored) if stored else None


def _line_in(row: Found, hunter_id: int) -> Line:
    return Line(
        id=f"in-{row.id}",
        inward=True,
        at=row.arrived_at,
        body=row.body,
        sent_at=row.sent_at,
        with_staff=row.hunter_id != hunter_id,
        pin=msgspec.json.decode(row.pin, type=Pin) if row.pin else None,
        photos=msgspec.json.decode(row.photos, type=tuple[Photo, ...]) if row.photos else (),
    )


def _line_out(row: Found) -> Line:
    return Line(
        id=f"out-{row.id}",
        inward=False,
        at=row.decided_at,
        body=row.body,
        sent_at=row.sent_at,
        kind=row.kind,
        state=row.state,
        error=row.error,
        segments=row.segments,
        report=row.report,
        reported_at=row.reported_at,
        with_staff=row.hunter_id is None,
    )


def _in_order(lines: list[Line]) -> tuple[Line, ...]:
    """By time; at the same instant what came in stands before what it was answered with."""
    return tuple(sorted(lines, key=lambda line: (line.at, not line.inward)))
