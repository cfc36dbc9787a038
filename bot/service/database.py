"""One door to both databases: a Database that gives writing and reading transactions.

SQLite serves one machine: write-ahead log set once, full sync, writers queue at a lock of our
own, because SQLite's own busy wait is unfair and slow. PostgreSQL serves any number: a pool of
psycopg 3 connections. Every session stands in UTC.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from time import monotonic
from typing import Any

import psycopg
from sqlalchemy import Connection, Engine, create_engine, event, func, select
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DisconnectionError, OperationalError
from sqlalchemy.pool import ConnectionPoolEntry

from bot.service.migrate import upgrade

BUSY_MS = 20_000
"""How long a SQLite connection waits for another process's writer."""

POOLED, POOLED_MORE = 8, 8
"""Connections of one process: kept open, and opened besides when all are busy. One for each
thread of `serve` and each sender of `deliver`; the server must allow processes x 16."""

RESTED_S = 1.0
"""A connection that was not used for so long is asked whether it still lives."""

_CONNECT = {
    "application_name": "bushpost",
    "connect_timeout": 5,
    # A cable that is cut says nothing: the dead connection is noticed within half a minute.
    "keepalives_idle": 15,
    "keepalives_interval": 5,
    "keepalives_count": 3,
    "tcp_user_timeout": 30_000,
}
_SESSION = "; ".join(
    (
        # By statements and not by start-up options: connection poolers refuse the latter.
        "SET TIME ZONE 'UTC'",
        # A process that is frozen in the middle of a text must not keep its hunter for ever, and
        # whoever waits for it gives up in time for the carrier to try again.
        "SET idle_in_transaction_session_timeout = '60s'",
        "SET lock_timeout = '20s'",
        # An acknowledged text is on the disk, whatever the role's own settings say.
        "SELECT set_config('synchronous_commit', 'on', false)"
        " WHERE current_setting('synchronous_commit') = 'off'",
    )
)

_SNAPSHOT = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
"""PostgreSQL would show each statement a newer state; SQLite keeps to one by itself."""


_CLOCK = select(func.clock_timestamp())


class DatabaseError(ValueError):
    """The database's address cannot be used."""


@dataclass(frozen=True, slots=True)
class Database:
    """An engine with its writers' queue. On PostgreSQL rows are locked, not the whole."""

    engine: Engine
    _queue: threading.Lock = field(default_factory=threading.Lock)

    @property
    def is_sqlite(self) -> bool:
        """Whether one writer at a time has the whole database."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """One transaction that writes: committed at the end, rolled back if anything raises."""
        if not self.is_sqlite:
            with self.engine.begin() as connection:
                yield connection
            return
        with self._queue, self.engine.connect() as plain:
            connection = plain.execution_options(bushpost_writes=True)
            with connection.begin():
                yield connection

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """One transaction that only reads, and sees one state of things throughout."""
        with self.engine.connect() as plain:
            yield plain if self.is_sqlite else plain.execution_options(**_SNAPSHOT)

    def now(self) -> datetime:
        """The time, aware: PostgreSQL's, so that workers on machines whose clocks differ agree on
        when a lease ends; with SQLite this machine's."""
        if self.is_sqlite:
            return datetime.now(UTC)
        with self.engine.connect() as connection:
            at: datetime = connection.execute(_CLOCK).scalar_one()
        return at.astimezone(UTC)

    def close(self) -> None:
        """Give every connection back."""
        self.engine.dispose()


def open_database(address: str, *, migrate: bool = True) -> Database:
    """The database at a URL, its schema brought up to date. DatabaseError says in one line why
    it cannot be used.

    "sqlite:///folder/file.sqlite3", or "postgresql://user@host/name".
    """
    url = _url(address)
    try:
        database = Database(_open_sqlite(url) if _is_sqlite(url) else _open_postgres(url))
        if migrate:
            with database.write() as connection:
                upgrade(connection)
    except (OperationalError, sqlite3.Error) as fault:
        why = str(getattr(fault, "orig", fault)).strip().splitlines()[0]
        raise DatabaseError(f"the database cannot be used: {why}") from None
    return database


def _is_sqlite(url: URL) -> bool:
    return url.get_backend_name() == "sqlite"


def _url(address: str) -> URL:
    try:
        url = make_url(address)
    except ArgumentError:
        raise DatabaseError(
            "not a database address: it starts like sqlite:/// or postgresql://"
        ) from None
    kind = url.get_backend_name()
    if _is_sqlite(url):
        if not url.database or url.database == ":memory:":
            raise DatabaseError("a SQLite address needs a file: sqlite:///folder/file.sqlite3")
        return url.set(drivername="sqlite+pysqlite")
    if kind in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    raise DatabaseError(f"no such kind of database: {kind}")


def _open_postgres(url: URL) -> Engine:
    engine = create_engine(
        url,
        pool_size=POOLED,
        max_overflow=POOLED_MORE,
        pool_use_lifo=True,
        connect_args=_CONNECT,
    )
    event.listen(engine, "connect", _prepare_session)
    event.listen(engine, "checkin", _put_back)
    event.listen(engine, "checkout", _ask_whether_it_lives)
    return engine


def _prepare_session(driver: psycopg.Connection[Any], _record: object) -> None:
    driver.execute(_SESSION)
    driver.commit()


def _put_back(driver: object, record: ConnectionPoolEntry) -> None:
    record.info["idle_since"] = monotonic()


def _ask_whether_it_lives(
    driver: psycopg.Connection[Any], record: ConnectionPoolEntry, proxy: object
) -> None:
    """A connection that has rested may be dead, as after the server's restart; one that was
    just used is not asked, since under load that would be a sixteenth of all that we ask."""
    if monotonic() - record.info.get("idle_since", monotonic()) < RESTED_S:
        return
    try:
        driver.execute("SELECT 1")
        driver.rollback()
    except psycopg.Error as fault:
        raise DisconnectionError from fault  # The pool takes another one, or opens it.


def _open_sqlite(url: URL) -> Engine:
    engine = create_engine(url, connect_args={"timeout": BUSY_MS / 1000})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    _set_wal(url.database or "")
    return engine


def _set_wal(path: str) -> None:
    # The mode is kept in the file. Setting it on every connection would need a lock each time,
    # and fails with 'database is locked' as soon as two do it at once.
    with closing(sqlite3.connect(path, timeout=BUSY_MS / 1000)) as driver:
        if driver.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            driver.execute("PRAGMA journal_mode = WAL")


def _prepare(driver: sqlite3.Connection, _record: object) -> None:
    # No transaction of the driver's own: it would open a deferred one, and a deferred writer
    # that finds another one in front of it fails at once instead of waiting.
    driver.isolation_level = None
    driver.execute("PRAGMA foreign_keys = ON")
    driver.execute("PRAGMA synchronous = FULL")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("bushpost_writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
