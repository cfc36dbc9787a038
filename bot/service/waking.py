"""Waits that have run out wake the machine that set them, one transaction each.

The machine knows whether it still waits: what it has left behind does nothing, so that a day's
downtime yields one reminder. Workers share the work by passing over finds that are being
handled; what is passed over is still due the next time.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Connection, bindparam, case, select, update
from sqlalchemy.exc import InterfaceError, OperationalError

from bot.messages import AskCoordinator, Event, OfferLapsed, PickupEvent, Silence
from bot.service import tables
from bot.service.database import Database
from bot.service.gather import Find, find_by, lock_hunters
from bot.service.logs import fault_code
from bot.service.reviewing import FAULT, open_review

LOG = logging.getLogger(__name__)

Play = Callable[[Connection, Find, Event | PickupEvent, datetime], object]


class Wait(NamedTuple):
    """A wait that has run out, with the find it belongs to."""

    id: int
    stream: str
    mark: int
    find_id: int
    hunter_id: int


_T, _C, _P = tables.Timer, tables.Conversation, tables.Pickup
_DUE = (
    select(_T.id, _T.stream, _T.mark, _C.id, _C.hunter_id)
    .outerjoin(_P, (_T.stream == "pickup") & (_P.id == _T.stream_id))
    .join(_C, _C.id == case((_T.stream == "pickup", _P.conversation_id), else_=_T.stream_id))
    .where(_T.done_at.is_(None), _T.due_at <= bindparam("now"))
    .order_by(_T.due_at, _T.id)
    .limit(bindparam("most"))
)
_DONE = update(_T).where(_T.id == bindparam("row"), _T.done_at.is_(None))


def run_due(database: Database, play: Play, now: datetime, limit: int) -> int:
    """Work off at most `limit` waits, oldest first; how many are done with."""
    with database.read() as connection:
        waits = [Wait(*row) for row in connection.execute(_DUE, {"now": now, "most": limit})]
    return sum(_wake(database, play, wait, now) for wait in waits)


def _wake(database: Database, play: Play, wait: Wait, now: datetime) -> bool:
    try:
        with database.write() as connection:
            find = _claimed(connection, wait, now)
            if find is None:
                return False
            lapsed = Silence if wait.stream == "conversation" else OfferLapsed
            play(connection, find, lapsed(now, wait.mark), now)
    except (OperationalError, InterfaceError):
        raise
    except Exception as fault:
        LOG.error("timer_fault", extra={"timer_id": wait.id, "fault": fault_code(fault)})
        with database.write() as connection:
            _close(connection, wait, now)
            open_review(connection, wait.find_id, AskCoordinator(FAULT, at_once=True), now)
    return True


def _claimed(connection: Connection, wait: Wait, now: datetime) -> Find | None:
    """The find of a wait, locked, and the wait done; None if another worker has either."""
    hunter = lock_hunters(connection, {wait.hunter_id}, wait=False).get(wait.hunter_id)
    if hunter is None or not _close(connection, wait, now):
        return None
    return find_by(connection, hunter, _C.id == wait.find_id)


def _close(connection: Connection, wait: Wait, now: datetime) -> bool:
    return connection.execute(_DONE.values(done_at=now), {"row": wait.id}).rowcount == 1
