"""What one event writes, gathered by table and written at once, when everything is decided.

PostgreSQL is told in one statement, whatever the event came to: each way to the server costs as
much as all of its rows. SQLite, which is asked within our own process, is told table by table.
Rows that belong to an event of this sheet name it by its mark until it has a number.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import msgspec
from sqlalchemy import (
    CTE,
    JSON,
    ClauseElement,
    ColumnElement,
    Connection,
    Select,
    Text,
    Update,
    bindparam,
    case,
    cast,
    column,
    func,
    inspect,
    literal_column,
    select,
)
from sqlalchemy.dialects import postgresql

from bot.service import tables
from bot.service.prepared import Prepared, prepared
from bot.service.upsert import Insert as Upsert
from bot.service.upsert import insert_into

Values = dict[str, Any]
Finish = Callable[[Upsert], Upsert]
PICKUP = "pickup"


class OvertakenError(RuntimeError):
    """A row is no longer of the version that was read, though it was locked: our own fault."""


def mark_of(stream: str, seq: int) -> int:
    """What stands for an event's number until it has one, unlike that of any other event of the
    same find."""
    return -seq if stream == PICKUP else seq


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows for one table with these columns; `finish` says what becomes of those that are there."""

    table: type[tables.Base]
    columns: tuple[str, ...]
    finish: Finish = lambda statement: statement

    @property
    def name(self) -> str:
        """Under which a sheet keeps them."""
        return str(self.table.__tablename__)


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One UPDATE; `sure` where it is our own fault if it finds no row. The names of its values
    are its own."""

    name: str
    update: Update
    sure: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Usual:
    """What nearly every sheet has. PostgreSQL's statement has all of it each time, empty where
    there is none: few statements are soon planned by every connection, dozens never."""

    rows: tuple[Rows, ...] = ()
    changes: tuple[Change, ...] = ()


NOTHING = Usual()


@dataclass(slots=True)
class Sheet:
    """One transaction's rows and changes, until `write`."""

    connection: Connection
    usual: Usual = NOTHING
    rows: dict[Rows, list[Values]] = field(default_factory=dict)
    changes: dict[Change, Values] = field(default_factory=dict)

    def add(self, what: Rows, *rows: Values) -> None:
        """Rows to be written behind those that are there."""
        if rows:
            self.rows.setdefault(what, []).extend(rows)

    def change(self, what: Change, values: Values) -> None:
        """A change to be made."""
        self.changes[what] = values

    def write(self) -> None:
        """Write all of it down, and begin anew. OvertakenError where a sure change found no row."""
        rows, changes = self.rows, self.changes
        self.rows, self.changes = {}, {}
        if not rows and not changes:
            return
        if self.connection.dialect.name == "sqlite":
            counts = _one_by_one(self.connection, rows, changes)
        else:
            counts = _at_once(self.connection, rows, changes, self.usual)
        for what in changes:
            if what.sure and counts[what] != 1:
                raise OvertakenError(what.name)


Counts = dict[Change, int]


def _at_once(
    connection: Connection,
    rows: dict[Rows, list[Values]],
    changes: dict[Change, Values],
    usual: Usual,
) -> Counts:
    values = {what.name: msgspec.json.encode(listed).decode() for what, listed in rows.items()}
    for own in changes.values():
        values |= own
    every = tuple(dict.fromkeys((*usual.changes, *changes)))
    whole = _whole(tuple(dict.fromkeys((*usual.rows, *rows))), every)
    (found,) = whole.all(connection, values)  # What is not given is NULL: no rows, no match.
    return dict(zip(every, found, strict=False))


def _one_by_one(
    connection: Connection, rows: dict[Rows, list[Values]], changes: dict[Change, Values]
) -> Counts:
    counts = {what: _made(what).run(connection, values) for what, values in changes.items()}
    numbers: dict[int, int] = {}
    for what, listed in rows.items():
        if what.table is tables.Event:
            numbers = {m: n for row in listed for m, n in [_numbered(connection, what, row)]}
            continue
        if "event_id" in what.columns:
            listed = [row | {"event_id": numbers[row["event_id"]]} for row in listed]
        _inserted(what).many(connection, listed)
    return counts


def _numbered(connection: Connection, what: Rows, row: Values) -> tuple[int, int]:
    """An event's mark and its number."""
    ((number,),) = _inserted(what).all(connection, row)
    return mark_of(row["stream"], row["seq"]), number


@cache
def _made(what: Change) -> Prepared:
    return prepared(what.update)


@cache
def _inserted(what: Rows) -> Prepared:
    def build(dialect: str) -> ClauseElement:
        row: Values = {name: bindparam(name) for name in what.columns}
        statement = what.finish(insert_into(dialect, what.table).inline()).values(row)
        return statement.returning(tables.Event.id) if what.table is tables.Event else statement

    return Prepared(build)


# ---------------------------------------------------------------- PostgreSQL's one statement


@cache
def _whole(rows: tuple[Rows, ...], changes: tuple[Change, ...]) -> Prepared:
    """One statement for a sheet of this shape, of which there are a few."""
    return prepared(_statement(rows, changes))


def _statement(rows: tuple[Rows, ...], changes: tuple[Change, ...]) -> Select[Any]:
    parts: list[CTE] = []
    events: CTE | None = None
    for what in rows:
        part = _part(what, events)
        parts.append(part)
        events = part if what.table is tables.Event else events
    made = [
        change.update.returning(literal_column("1").label("one")).cte(f"changed_{change.name}")
        for change in changes
    ]
    counts: list[ColumnElement[Any]] = [
        select(func.count()).select_from(each).scalar_subquery() for each in made
    ]
    return select(*(counts or [literal_column("0")])).add_cte(*parts, *made)


def _part(what: Rows, events: CTE | None) -> CTE:
    """The rows of one table, from the JSON that is given under its name."""
    given = _given(what)
    cells: list[ColumnElement[Any]] = [given.c[name] for name in what.columns]
    if events is not None and "event_id" in what.columns:
        # By a subquery and not by a join, so that rows are numbered in the order given.
        cells[what.columns.index("event_id")] = _number(events, given.c.event_id)
    key = inspect(what.table).primary_key
    statement = postgresql.insert(what.table).from_select(list(what.columns), select(*cells), False)
    returned = (tables.Event.stream, tables.Event.seq) if what.table is tables.Event else ()
    return what.finish(statement).returning(*key, *returned).cte(f"kept_{what.name}")


def _given(what: Rows) -> Any:
    of_table: ColumnElement[Any] = literal_column(f"NULL::{what.name}")
    told = cast(bindparam(what.name, type_=Text), JSON)
    types = what.table.__table__.c
    return func.json_populate_recordset(of_table, told).table_valued(
        *(column(name, types[name].type) for name in what.columns), name=f"new_{what.name}"
    )


def _number(events: CTE, mark: ColumnElement[int]) -> ColumnElement[Any]:
    own = case((events.c.stream == PICKUP, -events.c.seq), else_=events.c.seq)
    return select(events.c.id).where(own == mark).scalar_subquery()
