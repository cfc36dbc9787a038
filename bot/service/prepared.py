"""Statements of the hot path: built by Core once for each database, run by its driver.

A text needs a handful of statements, and the engine's own part in running one (contexts, result
objects, events) costs more than the database's. PostgreSQL keeps its plan of each from the first
time on: planning what writes a whole text takes longer than running it. Types are those of the
columns, and the driver's errors come as the engine's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from sqlalchemy import ClauseElement, Connection, Dialect
from sqlalchemy.exc import DBAPIError

Row = tuple[Any, ...]
Write = Mapping[str, Any]
_Change = Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class _Ready:
    """One statement as a driver takes it: its words, the values that never change, the order of
    the named values where it wants them by place, how it is to be run, and what turns values into
    the driver's."""

    words: str
    fixed: Write
    order: tuple[str, ...] | None
    how: Write
    into: tuple[tuple[str, _Change], ...]
    out: tuple[tuple[int, _Change], ...]

    def values(self, row: Write) -> Any:
        given = {**self.fixed, **row}
        for name, change in self.into:
            given[name] = change(given[name])
        return given if self.order is None else tuple(map(given.__getitem__, self.order))

    def found(self, row: Row) -> Row:
        if not self.out:
            return row
        cells = list(row)
        for place, change in self.out:
            cells[place] = change(cells[place])
        return tuple(cells)


@dataclass(frozen=True, slots=True)
class Prepared:
    """A statement, given as a function of the dialect's name; its values are named, and none of
    them is a list."""

    build: Callable[[str], ClauseElement]
    _ready: dict[str, _Ready] = field(default_factory=dict)

    def all(self, connection: Connection, row: Write) -> list[Row]:
        """Every row found."""
        ready = self._for(connection.dialect)
        cursor = _cursor(connection)
        _tried(connection, partial(cursor.execute, **ready.how), ready.words, ready.values(row))
        return [ready.found(found) for found in cursor.fetchall()]

    def first(self, connection: Connection, row: Write) -> Row | None:
        """The first row found."""
        return next(iter(self.all(connection, row)), None)

    def run(self, connection: Connection, row: Write) -> int:
        """How many rows were changed."""
        ready = self._for(connection.dialect)
        cursor = _cursor(connection)
        _tried(connection, partial(cursor.execute, **ready.how), ready.words, ready.values(row))
        return int(cursor.rowcount)

    def many(self, connection: Connection, rows: Iterable[Write]) -> None:
        """Once for each row."""
        ready = self._for(connection.dialect)
        values = [ready.values(row) for row in rows]
        _tried(connection, _cursor(connection).executemany, ready.words, values)

    def _for(self, dialect: Dialect) -> _Ready:
        ready = self._ready.get(dialect.name)
        if ready is None:
            ready = self._ready[dialect.name] = _made(self.build(dialect.name), dialect)
        return ready


def prepared(statement: ClauseElement) -> Prepared:
    """A statement that both databases are told in the same words."""
    return Prepared(lambda dialect: statement)


def _made(statement: ClauseElement, dialect: Dialect) -> _Ready:
    done: Any = statement.compile(dialect=dialect)
    into = [
        (done.bind_names[bind], change)
        for bind in done.bind_names
        if (change := bind.type.dialect_impl(dialect).bind_processor(dialect)) is not None
    ]
    out = [
        (place, change)
        for place, column in enumerate(_columns(statement))
        if (change := column.type.dialect_impl(dialect).result_processor(dialect, None)) is not None
    ]
    order = None if done.positiontup is None else tuple(done.positiontup)
    how = {"prepare": True} if dialect.driver == "psycopg" else {}
    return _Ready(str(done), dict(done.params), order, how, tuple(into), tuple(out))


def _columns(statement: ClauseElement) -> Sequence[Any]:
    return tuple(getattr(statement, "exported_columns", ()))


def _cursor(connection: Connection) -> Any:
    driver = connection.connection.driver_connection
    return driver.cursor()  # type: ignore[union-attr]


def _tried(connection: Connection, act: Callable[..., Any], words: str, values: Any) -> None:
    """Run it; what the driver raises comes as the engine's error of the same kind, without the
    values, and a connection that is lost leaves the pool."""
    dialect = connection.dialect
    kind = dialect.loaded_dbapi.Error
    try:
        act(words, values)
    except kind as fault:
        lost = dialect.is_disconnect(fault, connection.connection.driver_connection, None)
        if lost:
            connection.invalidate(fault)
        raise DBAPIError.instance(
            words, None, fault, kind, hide_parameters=True, connection_invalidated=lost
        ) from fault
