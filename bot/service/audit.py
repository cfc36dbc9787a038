"""Who saw or changed what at the desk: rows are added, and never changed or taken away."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct
from sqlalchemy import insert, or_, select

from bot.service import tables
from bot.service.database import Database

_A = tables.Audit


class Noted(Struct, frozen=True):
    """One line of the audit: `what` is a find's code or somebody's name."""

    id: int
    at: datetime
    who: str
    act: str
    what: str


def note(database: Database, at: datetime, who: str, act: str, what: str = "") -> None:
    """Write down that somebody saw or changed something."""
    row = {"at": at, "who": who, "act": act, "what": what[:200]}
    with database.write() as connection:
        connection.execute(insert(_A).values(row))


def noted(
    database: Database, about: str = "", before: int | None = None, most: int = 100
) -> tuple[Noted, ...]:
    """The newest lines, or those about one find or person."""
    query = select(_A.id, _A.at, _A.who, _A.act, _A.what).order_by(_A.id.desc()).limit(most)
    if about:
        query = query.where(or_(_A.what == about, _A.who == about))
    if before is not None:
        query = query.where(_A.id < before)
    with database.read() as connection:
        return tuple(Noted(*row) for row in connection.execute(query))
