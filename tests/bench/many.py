"""Many conversations out of a few real ones: every row is copied inside the database, with new
keys, new codes and new senders. What a copy says is what its model said.

Law: only rows are multiplied, never waits or texts that are still to go out, so that nothing
would be sent. A copy's reviews are settled and its head handed in, as those of past years are:
what needs anybody is what the real talks left open.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Integer,
    MetaData,
    Table,
    Text,
    case,
    cast,
    func,
    insert,
    literal,
    select,
)

from bot.fieldwork.state import LIVE
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.database import Database

CODES = Table(
    "bench_codes",
    MetaData(),
    Column("k", Integer),
    Column("find", Integer),
    Column("old", Text),
    Column("new", Text),
)
"""For the k-th copy of a find its code and the copy's."""

BATCH = 10_000


def multiply(database: Database, copies: int) -> None:
    """Copy every conversation so many times, with all that hangs on it."""
    codes = _codes(database, copies)
    with database.write() as connection:
        CODES.create(connection)
        for start in range(0, len(codes), BATCH):
            connection.execute(insert(CODES), codes[start : start + BATCH])
        strides = {
            table.name: connection.scalar(select(func.max(table.c.id))) or 0
            for table in t.Base.metadata.sorted_tables
            if "id" in table.c and not isinstance(table.c.id.type, Text)
        }
        for table, link, changed in _plan(strides):
            _copy(connection, table, link, changed, strides)
    if not database.is_sqlite:
        with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as plain:
            plain.exec_driver_sql("VACUUM ANALYZE")  # What PostgreSQL's own worker does in time.


def _codes(database: Database, copies: int) -> list[dict[str, Any]]:
    """A new code for every copy, before anything is begun: it takes longer than a database lets
    a transaction rest."""
    with database.read() as connection:
        real = connection.execute(select(t.Conversation.id, t.Conversation.code)).all()
    taken, draw = {row.code for row in real}, seeded(77)
    rows = []
    for k in range(1, copies + 1):
        for find, old in real:
            while (new := draw(0)) in taken:
                pass
            taken.add(new)
            rows.append({"k": k, "find": find, "old": old, "new": new})
    return rows


Plan = tuple[Table, ColumnElement[bool], Mapping[str, ColumnElement[Any]]]


def _plan(strides: Mapping[str, int]) -> list[Plan]:
    """Which rows are copied, how they are tied to a find, and what differs in the copy besides
    its keys; in the order in which they may be written."""
    hunters, talks, events = (x.__table__ for x in (t.Hunter, t.Conversation, t.Event))
    texts, out, pickups, reviews = (x.__table__ for x in (t.TextIn, t.TextOut, t.Pickup, t.Review))
    words, evidence, custody, heads = (
        x.__table__ for x in (t.Findable, t.Evidence, t.Custody, t.Specimen)
    )
    first = select(func.min(CODES.c.find)).scalar_subquery()
    each_k = CODES.c.find == first
    stream = case(
        (events.c.stream == "pickup", literal(strides["pickups"])),
        else_=literal(strides["conversations"]),
    )
    coded = {"code": CODES.c.new}
    plan: list[Plan] = [
        (hunters, each_k, {"number": _marked(hunters.c.number)}),
        (talks, CODES.c.find == talks.c.id, coded | _recoded(talks, "state", "first_state")),
        (texts, each_k, {x: _marked(texts.c[x]) for x in ("gateway_id", "sender")}),
        (events, each_k, {"stream_id": events.c.stream_id + CODES.c.k * stream}),
        (t.Effect.__table__, each_k, {}),
        (t.Answer.__table__, each_k, {}),
        (out, each_k, {"state": case((out.c.state == "waiting", "withdrawn"), else_=out.c.state)}),
        (
            pickups,
            CODES.c.find == pickups.c.conversation_id,
            coded
            | _recoded(pickups, "state", "first_state")
            | {"name": case((pickups.c.name.in_(LIVE), "handed_in"), else_=pickups.c.name)},
        ),
        (reviews, each_k, {"closed_at": func.coalesce(reviews.c.closed_at, reviews.c.opened_at)}),
        (words, CODES.c.find == words.c.conversation_id, {"card": _folded(words.c.card)}),
        (evidence, CODES.c.find == evidence.c.conversation_id, coded),
        (
            custody,
            CODES.c.old == custody.c.root,
            {"root": CODES.c.new, **_recoded(custody, "body")},
        ),
        (
            heads,
            CODES.c.old == heads.c.root,
            _recoded(heads, "code", "root", "find", "candidates", "state"),
        ),
    ]
    return plan


def _marked(column: ColumnElement[Any]) -> ColumnElement[Any]:
    return column + "/" + cast(CODES.c.k, Text)


def _recoded(table: Table, *names: str) -> dict[str, ColumnElement[Any]]:
    return {x: func.replace(table.c[x], CODES.c.old, CODES.c.new) for x in names}


def _folded(column: ColumnElement[Any]) -> ColumnElement[Any]:
    old, new = (func.lower(func.replace(c, "-", "")) for c in (CODES.c.old, CODES.c.new))
    return func.replace(column, old, new)


def _copy(
    connection: Connection,
    table: Table,
    link: ColumnElement[bool],
    changed: Mapping[str, ColumnElement[Any]],
    strides: Mapping[str, int],
) -> None:
    values = {column.name: changed.get(column.name, column) for column in table.c}
    for column in table.c:
        if column.name == "id" and table.name in strides:
            values["id"] = column + CODES.c.k * strides[table.name]
        for key in column.foreign_keys:
            values[column.name] = column + CODES.c.k * strides[key.column.table.name]
    order = (CODES.c.k, *table.primary_key.columns)
    rows = select(*values.values()).select_from(table.join(CODES, link)).order_by(*order)
    connection.execute(insert(table).from_select(list(values), rows))
