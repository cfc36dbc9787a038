"""How often somebody did one thing, in a window of time: counted in the database for all
processes, or in one process alone.

Law: one more is one statement, so that two at once are two. Only a keyed hash of who it was is
stored: an address, a link or a name that was typed, which may be a password in the wrong field.
A window that is over counts for nothing, and its row goes with the day's round.
"""

from __future__ import annotations

import hashlib
import hmac
import threading
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Protocol

from msgspec import Struct
from sqlalchemy import case, delete, or_, select

from bot.service import tables
from bot.service.database import Database
from bot.service.upsert import insert_into

MOST_KEPT = 10_000
"""Windows of one process's own memory; the oldest are forgotten first."""
_T = tables.Tally


class Tally(Struct, frozen=True):
    """How many, since when, the last of them, and when it is forgotten."""

    count: int
    began_at: datetime
    latest_at: datetime
    until: datetime


class Tallies(Protocol):
    """Where it is counted. `slides` lets the window go on from the latest, not the first."""

    def seen(self, who: str, now: datetime) -> Tally | None: ...
    def add(self, who: str, now: datetime, span: timedelta, *, slides: bool = False) -> Tally: ...
    def clear(self, who: str) -> None: ...


@dataclass(slots=True)
class OwnTallies:
    """Counts of this process alone, for what must not cost a question to the database."""

    _lock: threading.Lock = field(default_factory=threading.Lock)
    _kept: dict[str, Tally] = field(default_factory=dict)

    def seen(self, who: str, now: datetime) -> Tally | None:
        """The window that is open, if one is."""
        with self._lock:
            return _open(self._kept.get(who), now)

    def add(self, who: str, now: datetime, span: timedelta, *, slides: bool = False) -> Tally:
        """One more; the window as it is then."""
        with self._lock:
            old = _open(self._kept.pop(who, None), now)
            until = now + span if slides or old is None else old.until
            began, count = (old.began_at, old.count) if old else (now, 0)
            self._kept[who] = Tally(count + 1, began, now, until)
            while len(self._kept) > MOST_KEPT:
                del self._kept[next(iter(self._kept))]
            return self._kept[who]

    def clear(self, who: str) -> None:
        """Begin anew."""
        with self._lock:
            self._kept.pop(who, None)

    def __len__(self) -> int:
        return len(self._kept)


@dataclass(frozen=True, slots=True)
class SharedTallies:
    """Counts of all processes on one database. `key` is the service's secret."""

    database: Database
    key: str

    def seen(self, who: str, now: datetime) -> Tally | None:
        """The window that is open, if one is."""
        query = select(_T.count, _T.began_at, _T.latest_at, _T.until)
        with self.database.read() as connection:
            row = connection.execute(query.where(_T.who_hash == self._hash(who))).one_or_none()
        return _open(Tally(*row) if row else None, now)

    def add(self, who: str, now: datetime, span: timedelta, *, slides: bool = False) -> Tally:
        """One more; the window as it is then."""
        first = {"count": 1, "began_at": now, "latest_at": now, "until": now + span}
        fresh = insert_into(self.database.engine.dialect.name, _T).values(
            who_hash=self._hash(who), **first
        )
        # A window of a clock that was set back since has begun later than now.
        over = or_(_T.until <= now, _T.began_at > now)
        kept = {
            "count": case((over, 1), else_=_T.count + 1),
            "began_at": case((over, fresh.excluded.began_at), else_=_T.began_at),
            "latest_at": fresh.excluded.latest_at,
            "until": fresh.excluded.until
            if slides
            else case((over, fresh.excluded.until), else_=_T.until),
        }
        one_more = fresh.on_conflict_do_update(index_elements=["who_hash"], set_=kept)
        given = one_more.returning(_T.count, _T.began_at, _T.latest_at, _T.until)
        with self.database.write() as connection:
            return Tally(*connection.execute(given).one())

    def clear(self, who: str) -> None:
        """Begin anew."""
        with self.database.write() as connection:
            connection.execute(delete(_T).where(_T.who_hash == self._hash(who)))

    def _hash(self, who: str) -> str:
        return hmac.new(self.key.encode(), who.encode(), hashlib.sha256).hexdigest()


def forget_over(database: Database, now: datetime) -> int:
    """Take out the windows that are over; how many they were."""
    with database.write() as connection:
        return int(connection.execute(delete(_T).where(_T.until <= now)).rowcount)


def _open(tally: Tally | None, now: datetime) -> Tally | None:
    """A window while it counts. One that began later than now is of a clock set back since."""
    return tally if tally and tally.began_at <= now < tally.until else None
