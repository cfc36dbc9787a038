"""The migrations make exactly the tables that the models say, on both databases."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import func, insert, inspect, select, text

from bot.service import tables
from bot.service.database import Database, DatabaseError, open_database

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def test_models_and_migrated_schema_are_the_same(database: Database) -> None:
    with database.read() as connection:
        opts = {"compare_type": True, "include_name": _is_modelled}
        context = MigrationContext.configure(connection, opts=opts)
        assert compare_metadata(context, tables.Base.metadata) == []


def _is_modelled(name: str | None, kind: str, parents: object) -> bool:
    """Full-text indexes are each database's own; no model can say them for both."""
    return not (name or "").startswith("findable_words")


def test_partial_indexes_have_their_conditions(database: Database) -> None:
    """Alembic compares no conditions of indexes, so the models' are looked for one by one."""
    wanted = {
        index.name: str(where)
        for table in tables.Base.metadata.sorted_tables
        for index in table.indexes
        if (where := index.dialect_options[database.engine.dialect.name]["where"]) is not None
    }
    assert len(wanted) == 5
    query = (
        "SELECT name, sql FROM sqlite_master WHERE type = 'index'"
        if database.is_sqlite
        else "SELECT indexname, indexdef FROM pg_indexes"
    )
    with database.read() as connection:
        made = {row[0]: row[1] for row in connection.execute(text(query))}
    for name, where in wanted.items():
        plain = made[name].replace("::text", "").replace("(", "").replace(")", "")
        assert plain.endswith(f"WHERE {where}"), name


def test_opening_a_second_time_changes_nothing(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'twice.sqlite3'}"
    for _ in range(2):
        database = open_database(url)
        with database.read() as connection:
            assert connection.scalar(text("SELECT version_num FROM alembic_version"))
        database.close()


def test_sqlite_is_durable_and_checks_its_keys(tmp_path: Path) -> None:
    path = tmp_path / "settings.sqlite3"
    database = open_database(f"sqlite:///{path}")
    with database.read() as connection:
        assert connection.scalar(text("PRAGMA foreign_keys")) == 1
        # 2 is FULL: https://sqlite.org/pragma.html#pragma_synchronous
        assert connection.scalar(text("PRAGMA synchronous")) == 2
    database.close()
    with sqlite3.connect(path) as plain:
        assert plain.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_postgres_sessions_stand_in_utc_and_commit_durably(postgres: Database) -> None:
    with postgres.read() as connection:
        assert connection.scalar(text("SHOW timezone")) == "UTC"
        assert connection.scalar(text("SHOW synchronous_commit")) == "on"
        assert connection.scalar(text("SHOW fsync")) == "on"


@pytest.mark.parametrize(
    "address", ["", "bushpost.sqlite3", "sqlite://", "sqlite:///:memory:", "oracle://host/name"]
)
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(DatabaseError):
        open_database(address)


@pytest.mark.parametrize(
    "address", ["sqlite:////no/such/folder/x.sqlite3", "postgresql://nobody@127.0.0.1:1/none"]
)
def test_a_database_that_is_not_there_is_one_clear_line(address: str) -> None:
    with pytest.raises(DatabaseError, match="the database cannot be used: ") as caught:
        open_database(address)
    assert "\n" not in str(caught.value)


def test_times_come_back_aware_in_utc(database: Database) -> None:
    melbourne = NOON.astimezone(timezone(timedelta(hours=11)))
    row = {"name": "ines", "password_hash": "x", "role": "coordinator", "created_at": melbourne}
    with database.write() as connection:
        connection.execute(insert(tables.Account).values(row))
    with database.read() as connection:
        back = connection.scalar(select(tables.Account.created_at))
    assert back == NOON
    assert back.utcoffset() == timedelta(0)


def test_a_time_without_a_zone_is_refused(database: Database) -> None:
    row = {"name": "x", "password_hash": "", "role": "", "created_at": NOON.replace(tzinfo=None)}
    with pytest.raises(Exception, match="without a zone"), database.write() as connection:
        connection.execute(insert(tables.Account).values(row))


def test_a_raise_rolls_everything_back(database: Database) -> None:
    row = {"name": "ines", "password_hash": "x", "role": "coordinator", "created_at": NOON}

    def break_off() -> None:
        with database.write() as connection:
            connection.execute(insert(tables.Account).values(row))
            raise RuntimeError

    with pytest.raises(RuntimeError):
        break_off()
    with database.read() as connection:
        assert connection.scalar(select(tables.Account.name)) is None
        assert inspect(connection).has_table("hunters")


def test_a_reader_sees_one_state_of_things(database: Database) -> None:
    row = {"name": "ines", "password_hash": "x", "role": "coordinator", "created_at": NOON}
    count = select(func.count()).select_from(tables.Account)
    with database.read() as reader:
        assert reader.scalar(count) == 0
        with database.write() as writer:
            writer.execute(insert(tables.Account).values(row))
        assert reader.scalar(count) == 0
    with database.read() as reader:
        assert reader.scalar(count) == 1
