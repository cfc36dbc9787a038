"""INSERT ... ON CONFLICT, which both databases have and SQLAlchemy writes for each apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Connection, Executable, inspect
from sqlalchemy.dialects import postgresql, sqlite

from bot.service.tables import Base

Insert = postgresql.Insert | sqlite.Insert


def insert_into(dialect: str, table: type[Base]) -> Insert:
    """The INSERT of one dialect, "sqlite" or "postgresql"."""
    return sqlite.insert(table) if dialect == "sqlite" else postgresql.insert(table)


def insert_new(connection: Connection, table: type[Base], row: Mapping[str, Any]) -> Any | None:
    """Insert a row; its primary key, or None where some unique key has it already."""
    return connection.execute(_new(connection.dialect.name, table), dict(row)).scalar_one_or_none()


def upsert(
    connection: Connection, table: type[Base], row: Mapping[str, Any], key: Sequence[str]
) -> None:
    """Insert a row, or set every other column of the one that has this key."""
    statement: Insert = insert_into(connection.dialect.name, table).values(dict(row))
    changes = {name: statement.excluded[name] for name in row if name not in key}
    connection.execute(statement.on_conflict_do_update(index_elements=list(key), set_=changes))


@cache
def _new(dialect: str, table: type[Base]) -> Executable:
    """Built once: on the hot path, building a statement costs as much as running it."""
    (key,) = inspect(table).primary_key
    return insert_into(dialect, table).on_conflict_do_nothing().returning(key)
