"""Open log-ins and invitations: both are known to the browser by a key of which only a hash is
kept, both end, and neither is ever opened again."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from msgspec import Struct
from sqlalchemy import delete, insert, select, update

from bot.service import tables
from bot.service.accounts import Account, AccountError, add_account
from bot.service.database import Database
from bot.service.second_factor import Factors

_S, _I, _A, _F = tables.Session, tables.Invitation, tables.Account, tables.SecondFactor
INVITED_FOR = timedelta(days=7)
LASTS = timedelta(days=60)


class OpenSession(Struct, frozen=True):
    """One log-in that has not ended. `id` names it to an administrator, and opens nothing."""

    id: str
    name: str
    browser: str
    started_at: datetime


class Person(Struct, frozen=True):
    """Somebody with an account, and the log-ins that are open."""

    name: str
    role: str
    created_at: datetime
    second_since: datetime | None = None
    sessions: tuple[OpenSession, ...] = ()


def _hash(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Doors:
    """Who comes in by which key."""

    database: Database

    def begin(self, name: str, browser: str, now: datetime) -> str:
        """A new log-in; the key that the browser is to remember."""
        key = secrets.token_urlsafe(24)
        row = {"key_hash": _hash(key), "name": name, "browser": browser[:200], "started_at": now}
        with self.database.write() as connection:
            connection.execute(insert(_S).values(row))
        return key

    def account(self, key: str, now: datetime) -> Account | None:
        """Whose log-in a key is, with the role as it is now; None once it has ended."""
        query = select(_A.name, _A.role, _F.confirmed_at).join(_S, _S.name == _A.name)
        query = query.outerjoin(_F, _F.name == _A.name)
        alive = (_S.key_hash == _hash(key)) & _S.ended_at.is_(None) & (_S.started_at > now - LASTS)
        with self.database.read() as connection:
            row = connection.execute(query.where(alive)).one_or_none()
        return Account(row.name, row.role, row.confirmed_at is not None) if row else None

    def end(self, key: str, now: datetime) -> None:
        """Log out."""
        self._end(_S.key_hash == _hash(key), now)

    def end_by_id(self, id: str, now: datetime) -> None:
        """An administrator ends a log-in that he sees in a list."""
        self._end(_S.key_hash == id, now)

    def end_all(self, name: str, now: datetime) -> None:
        """End every log-in of somebody."""
        self._end(_S.name == name, now)

    def opened(self, name: str, now: datetime) -> tuple[OpenSession, ...]:
        """The log-ins of somebody that have not ended, oldest first."""
        return next((p.sessions for p in self.people(now) if p.name == name), ())

    def is_of(self, id: str, key: str) -> bool:
        """Whether a log-in in a list is the one of a key."""
        return id == _hash(key)

    def end_own(self, name: str, id: str, now: datetime) -> None:
        """Somebody ends one of his own log-ins."""
        self._end((_S.name == name) & (_S.key_hash == id), now)

    def end_others(self, name: str, key: str, now: datetime) -> None:
        """End every log-in of somebody but the one of a key."""
        self._end((_S.name == name) & (_S.key_hash != _hash(key)), now)

    def people(self, now: datetime) -> tuple[Person, ...]:
        """Everybody with an account, by name."""
        accounts = select(_A.name, _A.role, _A.created_at, _F.confirmed_at).order_by(_A.name)
        accounts = accounts.outerjoin(_F, _F.name == _A.name)
        alive = _S.ended_at.is_(None) & (_S.started_at > now - LASTS)
        opened = select(_S.key_hash, _S.name, _S.browser, _S.started_at).where(alive)
        with self.database.read() as connection:
            rows = connection.execute(accounts).all()
            sessions = [OpenSession(*r) for r in connection.execute(opened.order_by(_S.started_at))]
        return tuple(Person(*r, tuple(s for s in sessions if s.name == r[0])) for r in rows)

    def change_role(self, name: str, role: str) -> None:
        """Give somebody another role. AccountError where nobody could rule any more."""
        self._keep_one_ruling(name, stays=role == "administrator")
        with self.database.write() as connection:
            connection.execute(update(_A).where(_A.name == name).values(role=role))

    def remove(self, name: str, now: datetime) -> None:
        """Take an account away and end its log-ins; what it did stays written down."""
        self._keep_one_ruling(name, stays=False)
        self.end_all(name, now)
        Factors(self.database).remove(name)
        with self.database.write() as connection:
            connection.execute(delete(_A).where(_A.name == name))

    def invite(self, role: str, by: str, now: datetime) -> str:
        """An invitation to make an account of a role; the key that its link carries."""
        key = secrets.token_urlsafe(24)
        row = {"role": role, "by": by, "made_at": now, "until": now + INVITED_FOR, "used_by": ""}
        with self.database.write() as connection:
            connection.execute(insert(_I).values(row | {"key_hash": _hash(key)}))
        return key

    def invited(self, key: str, now: datetime) -> str:
        """The role that an invitation is good for, "" if it is used or over."""
        good = (_I.key_hash == _hash(key)) & (_I.used_by == "") & (_I.until > now)
        with self.database.read() as connection:
            return connection.scalar(select(_I.role).where(good)) or ""

    def accept(
        self, key: str, name: str, password: str, now: datetime, words: Sequence[str] = ()
    ) -> Account:
        """Make the account of an invitation, once; AccountError says why not."""
        role = self.invited(key, now)
        if not role:
            raise AccountError("the invitation is used or over")
        good = (_I.key_hash == _hash(key)) & (_I.used_by == "")
        used = update(_I).where(good).values(used_by=name.strip().lower())
        with self.database.write() as connection:
            if connection.execute(used).rowcount != 1:
                raise AccountError("the invitation is used or over")
        try:
            return add_account(self.database, name, password, now, role, words)
        except AccountError:
            free = update(_I).where(_I.key_hash == _hash(key)).values(used_by="")
            with self.database.write() as connection:
                connection.execute(free)
            raise

    def _end(self, which: object, now: datetime) -> None:
        mine = update(_S).where(_S.ended_at.is_(None), which)  # type: ignore[arg-type]
        with self.database.write() as connection:
            connection.execute(mine.values(ended_at=now))

    def _keep_one_ruling(self, name: str, *, stays: bool) -> None:
        ruling = select(_A.name).where(_A.role == "administrator", _A.name != name)
        with self.database.read() as connection:
            role = connection.scalar(select(_A.role).where(_A.name == name))
            if role == "administrator" and not stays and not connection.scalar(ruling.limit(1)):
                raise AccountError("nobody would be left to let others in")
