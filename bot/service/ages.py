"""Ages in the database: rows that are only ever added, each one saying about one find's animal.

The table stands here, beside the only code that touches it; its migration is 0005.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime

import msgspec
from sqlalchemy import Connection, Index, insert, select
from sqlalchemy.orm import Mapped

from bot.evidence.told_age import AgeTold
from bot.service import tables
from bot.service.tables import Base, Numbered

_C = tables.Conversation


class AgeRow(Numbered, Base):
    """One saying about an animal's age, as JSON, under its find's code."""

    __tablename__ = "ages"
    __table_args__ = (Index(None, "code"),)

    code: Mapped[str]
    body: Mapped[str]
    at: Mapped[datetime]


def keep_age(connection: Connection, code: str, told: AgeTold) -> None:
    """Add one saying; LookupError where there is no such find."""
    if connection.scalar(select(_C.id).where(_C.code == code)) is None:
        raise LookupError(f"no find {code}")
    row = {"code": code, "body": msgspec.json.encode(told).decode(), "at": told.at}
    connection.execute(insert(AgeRow), row)


def ages_of(connection: Connection, code: str) -> tuple[AgeTold, ...]:
    """Every saying about one find's animal, oldest first."""
    query = select(AgeRow.body).where(AgeRow.code == code).order_by(AgeRow.id)
    return tuple(map(_told, connection.scalars(query)))


def all_ages(connection: Connection) -> Mapping[str, tuple[AgeTold, ...]]:
    """Every saying by find, each oldest first."""
    found = defaultdict[str, list[AgeTold]](list)
    query = select(AgeRow.code, AgeRow.body).order_by(AgeRow.id)
    for row in connection.execute(query):
        found[row.code].append(_told(row.body))
    return {code: tuple(told) for code, told in found.items()}


def _told(body: str) -> AgeTold:
    return msgspec.json.decode(body, type=AgeTold)
