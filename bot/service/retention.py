"""What is older than a programme keeps is blanked, once a day, and written down with its counts.

Law: off until the programme's folder names an age. Words, numbers and names go as by `erase`,
hunter by hunter, once the last that happened to any of his finds is too old; photos go by their
own age. A hunter whose head is still to be fetched waits. What makes a find evidence stays.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from msgspec import Struct
from sqlalchemy import Select, delete, exists, func, select, update

from bot.fieldwork.state import LIVE
from bot.programme import Privacy
from bot.service import audit, tables
from bot.service.database import Database
from bot.service.erasing import erase

LOG = logging.getLogger(__name__)
DAY = timedelta(days=1)
AT_ONCE = 50
"""Hunters of one transaction: a text that comes in meanwhile must not wait for thousands."""
ACT = "retention"
BY = "service"

_H, _C, _T, _P, _F = (
    tables.Hunter,
    tables.Conversation,
    tables.TextIn,
    tables.Pickup,
    tables.Photo,
)


class Blanked(Struct, frozen=True):
    """What one day's round blanked."""

    hunters: int = 0
    texts: int = 0
    photos: int = 0


def blank_old(database: Database, privacy: Privacy, now: datetime) -> Blanked:
    """Blank whatever is older than the programme keeps, and write down how much it was."""
    if not (privacy.words_days or privacy.photos_days):
        return Blanked()
    hunters, texts = _words(database, privacy.words_days, now)
    done = Blanked(hunters, texts, _photos(database, privacy.photos_days, now))
    if done != Blanked():
        counts = f"{done.hunters} hunters, {done.texts} texts, {done.photos} photos"
        audit.note(database, now, BY, ACT, counts)
    for name in Blanked.__struct_fields__:
        LOG.info("retention", extra={"reason": name, "count": getattr(done, name)})
    return done


def _words(database: Database, days: int, now: datetime) -> tuple[int, int]:
    if not days:
        return 0, 0
    before, hunters, texts = now - days * DAY, 0, _loose(database, now - days * DAY)
    while True:
        with database.read() as connection:
            rows = tuple(connection.scalars(_too_old(before).limit(AT_ONCE)))
        if not rows:
            return hunters, texts
        texts += erase(database, rows, now).texts
        hunters += len(rows)


def _too_old(before: datetime) -> Select[int]:
    """Hunters of whom nothing is newer, and whose heads are all fetched or given up."""
    newer_find = exists().where(_C.hunter_id == _H.id, _C.last_event_at >= before)
    newer_text = exists().where(_T.hunter_id == _H.id, _T.arrived_at >= before)
    fetching = exists().where(
        _C.hunter_id == _H.id, _P.conversation_id == _C.id, _P.name.in_(sorted(LIVE))
    )
    old = select(_H.id).where(_H.erased_at.is_(None), _H.first_text_at < before)
    return old.where(~newer_find, ~newer_text, ~fetching).order_by(_H.id)


def _loose(database: Database, before: datetime) -> int:
    """Texts that belong to no hunter, as those of a sender who could not be read."""
    nobodys = (_T.hunter_id.is_(None), _T.conversation_id.is_(None), _T.arrived_at < before)
    kept = func.length(_T.body) + func.length(_T.sender) > len("erased")
    blank = {"body": "", "sender": "erased", "pin": None, "photos": None}
    with database.write() as connection:
        return int(connection.execute(update(_T).where(*nobodys, kept).values(blank)).rowcount)


def _photos(database: Database, days: int, now: datetime) -> int:
    if not days:
        return 0
    with database.write() as connection:
        old = delete(_F).where(_F.kept_at < now - days * DAY)
        return int(connection.execute(old).rowcount)


@dataclass(slots=True)
class Daily:
    """Runs a day's work at most once a day in this process, first at its start. Two processes
    may both run it: what is blank already is not blanked again."""

    work: Callable[[datetime], object]
    next_at: datetime | None = None

    def run_if_due(self, now: datetime) -> bool:
        """Work if a day has gone by. What fails is tried again in an hour, by the caller's care
        for faults."""
        if self.next_at is not None and now < self.next_at:
            return False
        self.next_at = now + timedelta(hours=1)
        self.work(now)
        self.next_at = now + DAY
        return True
