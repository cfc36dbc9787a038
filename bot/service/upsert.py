"""INSERT ... ON CONFLICT, which both databases have and SQLAlchemy writes for each apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.dialects import postgresql, sqlite

from bot.service.tables import Base

Insert = postgresql.Insert | sqlite.Insert


def insert_into(connection: Connection, table: type[Base]) -> Insert:
    """The INSERT of this connection's own dialect."""
    if connection.dialect.name == "sqlite":
        return sqlite.insert(table)
    return postgresql.insert(table)


def insert_new(connection: Connection, table: type[Base], row: Mapping[str, Any]) -> Insert:
    """Insert, or do nothing where any unique key has it already."""
    statement: Insert = insert_into(connection, table).values(dict(row))
    return statement.on_conflict_do_nothing()


def upsert(
    connection: Connection, table: type[Base], row: Mapping[str, Any], key: Sequence[str]
) -> Insert:
    """Insert, or set every other column of the row that has this key."""
    statement: Insert = insert_into(connection, table).values(dict(row))
    changes = {name: statement.excluded[name] for name in row if name not in key}
    return statement.on_conflict_do_update(index_elements=list(key), set_=changes)
