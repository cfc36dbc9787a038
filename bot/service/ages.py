"""Ages in the database: rows that are only ever added, each one saying about one find's animal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import msgspec
from sqlalchemy import Connection, insert, select

from bot.evidence.told_age import AgeTold
from bot.service import tables

_A = tables.Age
_C = tables.Conversation


def keep_age(connection: Connection, code: str, told: AgeTold) -> None:
    """Add one saying; LookupError where there is no such find."""
    if connection.scalar(select(_C.id).where(_C.code == code)) is None:
        raise LookupError(f"no find {code}")
    row = {"code": code, "body": msgspec.json.encode(told).decode(), "at": told.at}
    connection.execute(insert(_A), row)


def ages_of(connection: Connection, code: str) -> tuple[AgeTold, ...]:
    """Every saying about one find's animal, oldest first."""
    query = select(_A.body).where(_A.code == code).order_by(_A.id)
    return tuple(map(_told, connection.scalars(query)))


def all_ages(connection: Connection) -> Mapping[str, tuple[AgeTold, ...]]:
    """Every saying by find, each oldest first."""
    found = defaultdict[str, list[AgeTold]](list)
    query = select(_A.code, _A.body).order_by(_A.id)
    for row in connection.execute(query):
        found[row.code].append(_told(row.body))
    return {code: tuple(told) for code, told in found.items()}


def _told(body: str) -> AgeTold:
    return msgspec.json.decode(body, type=AgeTold)
