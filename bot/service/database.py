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
from typing import Any

import psycopg
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, OperationalError

from bot.service.migrate import upgrade

BUSY_MS = 20_000
"""How long a SQLite connection waits for another process's writer."""

_SNAPSHOT = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
"""PostgreSQL would show each statement a newer state; SQLite keeps to one by itself."""


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
    engine = create_engine(url, pool_size=8, max_overflow=8, pool_pre_ping=True)
    event.listen(engine, "connect", _stand_in_utc)
    return engine


def _stand_in_utc(driver: psycopg.Connection[Any], _record: object) -> None:
    # By a statement and not by a start-up option: connection poolers refuse the latter.
    driver.execute("SET TIME ZONE 'UTC'")
    driver.commit()


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
