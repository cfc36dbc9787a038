"""Types that both databases must agree on: instants in UTC, 64-bit row numbers, and rows."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, TypeAlias

from sqlalchemy import BigInteger, DateTime, Dialect, Integer
from sqlalchemy.types import TypeDecorator

Found: TypeAlias = Any
"""A row of a select, its columns by name. SQLAlchemy 2.0 and 2.1 type rows in two ways that
cannot both be written."""

RowNumber = BigInteger().with_variant(Integer(), "sqlite")
"""SQLite counts rows by itself only in a column that is declared INTEGER."""


class Instant(TypeDecorator[datetime]):
    """An aware datetime in, an aware one in UTC out; a naive one is a ValueError.

    SQLite has no such type: there the instant is text in UTC, of one width, so that text order
    is time order.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a time without a zone, and store UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a time without a zone cannot be stored: {value!r}")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give UTC back, whatever zone the session or the server stands in."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
