"""INSERT ... ON CONFLICT, which both databases have and SQLAlchemy writes for each apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from sqlalchemy import ClauseElement, Connection, bindparam, inspect
from sqlalchemy.dialects import postgresql, sqlite

from bot.service.prepared import Prepared
from bot.service.tables import Base

Insert = postgresql.Insert | sqlite.Insert


def insert_into(dialect: str, table: type[Base]) -> Insert:
    """The INSERT of one dialect, "sqlite" or "postgresql"."""
    return sqlite.insert(table) if dialect == "sqlite" else postgresql.insert(table)


def insert_new(connection: Connection, table: type[Base], row: Mapping[str, Any]) -> Any | None:
    """Insert a row; its primary key, or None where some unique key has it already."""
    found = _new(table, tuple(row)).first(connection, row)
    return found[0] if found else None


def upsert(
    connection: Connection, table: type[Base], row: Mapping[str, Any], key: Sequence[str]
) -> None:
    """Insert a row, or set every other column of the one that has this key."""
    statement: Insert = insert_into(connection.dialect.name, table).values(dict(row))
    changes = {name: statement.excluded[name] for name in row if name not in key}
    connection.execute(statement.on_conflict_do_update(index_elements=list(key), set_=changes))


@cache
def _new(table: type[Base], columns: tuple[str, ...]) -> Prepared:
    (key,) = inspect(table).primary_key
    row: dict[str, Any] = {name: bindparam(name) for name in columns}

    def build(dialect: str) -> ClauseElement:
        return insert_into(dialect, table).values(row).on_conflict_do_nothing().returning(key)

    return Prepared(build)
