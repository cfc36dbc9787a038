"""A kill is no power cut: that an acknowledged text is on the disk rests on these settings.

Sources: sqlite.org/pragma.html (synchronous FULL is 2; in WAL mode NORMAL may lose the last
commits at a power cut); PostgreSQL 18 manual, 19.5.1 (fsync, synchronous_commit, full_page_writes).
"""

from __future__ import annotations

import time

import pytest
from sqlalchemy import text

from bot.service.database import RESTED_S, Database, open_database


def test_sqlite_syncs_every_commit_on_every_connection(sqlite: Database) -> None:
    connections = [sqlite.engine.connect() for _ in range(3)]
    for connection in connections:
        assert connection.scalar(text("PRAGMA synchronous")) == 2
        assert connection.scalar(text("PRAGMA journal_mode")) == "wal"
        connection.close()


@pytest.mark.parametrize(
    ("setting", "value"),
    [
        ("fsync", "on"),
        ("full_page_writes", "on"),
        ("synchronous_commit", "on"),
        ("TimeZone", "UTC"),
        ("lock_timeout", "20s"),
        ("idle_in_transaction_session_timeout", "1min"),
    ],
)
def test_postgresql_syncs_every_commit(postgres: Database, setting: str, value: str) -> None:
    with postgres.read() as connection:
        assert connection.scalar(text(f"SHOW {setting}")) == value


def test_a_role_that_does_not_sync_is_overruled(postgres_url: str, postgres: Database) -> None:
    with postgres.write() as connection:
        connection.execute(text("DROP ROLE IF EXISTS hasty"))
        connection.execute(text("CREATE ROLE hasty LOGIN SUPERUSER"))
        connection.execute(text("ALTER ROLE hasty SET synchronous_commit = off"))
        connection.execute(text("ALTER ROLE hasty SET timezone = 'Pacific/Chatham'"))
    hasty = open_database(postgres_url.replace("postgres:", "hasty:", 1), migrate=False)
    with hasty.read() as connection:
        assert connection.scalar(text("SELECT current_user")) == "hasty"
        assert connection.scalar(text("SHOW synchronous_commit")) == "on"
        assert connection.scalar(text("SHOW TimeZone")) == "UTC"
    hasty.close()
    with postgres.write() as connection:
        connection.execute(text("DROP ROLE hasty"))


def test_a_connection_that_died_while_it_rested_is_replaced(
    postgres_url: str, postgres: Database
) -> None:
    own = open_database(postgres_url, migrate=False)
    with own.read() as connection:
        pid = connection.scalar(text("SELECT pg_backend_pid()"))
    with postgres.write() as connection:
        connection.execute(text("SELECT pg_terminate_backend(:pid)"), {"pid": pid})
    time.sleep(RESTED_S)
    with own.read() as connection:
        assert connection.scalar(text("SELECT pg_backend_pid()")) != pid
    own.close()
