"""Rows of the review list: opened, settled and claimed. One open row a reason and conversation."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import cache

from sqlalchemy import Connection, Executable, case, or_, select, text, update

from bot.messages import AskCoordinator, Effect, SettleReview
from bot.service import tables
from bot.service.database import Database
from bot.service.upsert import insert_into

FAULT = "software_fault"
"""The one reason that no machine gives: a machine raised, and the words wait for a person."""

_R = tables.Review


def apply_reviews(
    connection: Connection, find_id: int, effects: Iterable[Effect], now: datetime
) -> None:
    """Do what these effects say about the review list, in their order."""
    for effect in effects:
        if isinstance(effect, AskCoordinator):
            open_review(connection, find_id, effect, now)
        elif isinstance(effect, SettleReview):
            _settle(connection, find_id, effect.reasons, now)


def open_review(connection: Connection, find_id: int, order: AskCoordinator, now: datetime) -> None:
    """Open a row, or sharpen the one that is open: newer words, and never less urgent."""
    row = {
        "conversation_id": find_id,
        "reason": order.reason,
        "heard": order.heard,
        "at_once": order.at_once,
        "opened_at": now,
    }
    connection.execute(_opened(connection.dialect.name), row)


@cache
def _opened(dialect: str) -> Executable:
    statement = insert_into(dialect, _R).inline()
    new = statement.excluded
    return statement.on_conflict_do_update(
        index_elements=["conversation_id", "reason"],
        index_where=text("closed_at IS NULL"),
        set_={
            "heard": case((new.heard != "", new.heard), else_=_R.heard),
            "at_once": or_(_R.at_once, new.at_once),
        },
    )


def _settle(connection: Connection, find_id: int, reasons: tuple[str, ...], now: datetime) -> None:
    open_rows = update(_R).where(_R.conversation_id == find_id, _R.closed_at.is_(None))
    if reasons:
        open_rows = open_rows.where(_R.reason.in_(reasons))
    connection.execute(open_rows.values(closed_at=now))


def claim(database: Database, code: str, by: str) -> bool:
    """Put a name on every open row of a find; False if another name stands there already."""
    find = tables.Conversation
    owned = (
        update(_R)
        .where(
            _R.conversation_id == find.id,
            find.code == code,
            _R.closed_at.is_(None),
            _R.taken_by.in_(("", by)),
        )
        .values(taken_by=by)
    )
    with database.write() as connection:
        return connection.execute(owned).rowcount > 0


def release(database: Database, code: str, by: str) -> None:
    """Take one's name off a find's open rows again."""
    find = tables.Conversation
    with database.write() as connection:
        connection.execute(
            update(_R)
            .where(
                _R.conversation_id == find.id,
                find.code == code,
                _R.closed_at.is_(None),
                _R.taken_by == by,
            )
            .values(taken_by="")
        )


def holder(database: Database, code: str) -> str:
    """Whose name stands on a find's open rows, "" if nobody's."""
    find = tables.Conversation
    named = select(_R.taken_by).where(
        _R.conversation_id == find.id,
        find.code == code,
        _R.closed_at.is_(None),
        _R.taken_by != "",
    )
    with database.read() as connection:
        return connection.scalar(named.limit(1)) or ""
