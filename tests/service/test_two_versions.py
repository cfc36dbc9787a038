"""Two versions side by side while a service is brought up to date, machine after machine.

What the version before knew of the tables, it can still write and read on the newer schema: for
every migration, rows with only the columns that were there before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from alembic.script import ScriptDirectory
from sqlalchemy import Column, Connection, MetaData, create_engine, insert, select, text

from bot.service.copying import CopyError, copy_all
from bot.service.database import Database, open_database
from bot.service.migrate import revision, settings, upgrade

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
ALLOWED = {"stream": "pickup", ("outbox", "state"): "waiting", ("carried", "state"): "accepted"}
"""What checks on columns want to see."""


@pytest.fixture(params=["sqlite", "postgresql"])
def bare(request: pytest.FixtureRequest, tmp_path) -> Iterator[Connection]:
    """A transaction on a database without any table, undone at the end."""
    if request.param == "sqlite":
        engine = create_engine(f"sqlite:///{tmp_path / 'bare.sqlite3'}")
        with engine.connect() as connection:
            yield connection
        engine.dispose()
        return
    database: Database = request.getfixturevalue("postgres")
    with database.engine.connect() as connection:
        connection.execute(text("CREATE SCHEMA bare"))
        connection.execute(text("SET LOCAL search_path TO bare"))
        yield connection
        connection.rollback()


def revisions(connection: Connection) -> list[str]:
    """All of them, the first first."""
    scripts = ScriptDirectory.from_config(settings(connection)).walk_revisions()
    return [script.revision for script in scripts][::-1]


def test_the_version_before_works_on_the_newer_schema(bare: Connection) -> None:
    known, *later = revisions(bare)
    upgrade(bare, known)
    assert len(later) >= 7
    for newer in later:
        tables = MetaData()
        tables.reflect(bare)
        upgrade(bare, newer)
        before = bare.begin_nested()
        for table in tables.sorted_tables:
            if table.name == "alembic_version" or table.name.startswith("findable_words"):
                continue
            row = {c.name: _value(table.name, c) for c in table.columns if _wanted(c)}
            bare.execute(insert(table).inline(), row)
            assert bare.execute(select(table)).one()
        before.rollback()


def _wanted(column: Column[Any]) -> bool:
    return column.server_default is None or column.primary_key


def _value(table: str, column: Column[Any]) -> object:
    """Something of the column's type that its checks allow."""
    allowed = ALLOWED.get((table, column.name)) or ALLOWED.get(column.name)
    if allowed is not None:
        return allowed
    kind = column.type.python_type
    return {int: 1, str: "x", bool: True, float: 1.0, bytes: b"x", datetime: NOON}[kind]


def test_an_older_program_that_starts_leaves_the_newer_schema(sqlite: Database, tmp_path) -> None:
    with sqlite.write() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    again = open_database(sqlite.engine.url.render_as_string())
    with again.read() as connection:
        assert revision(connection) == "9999"
    target = open_database(f"sqlite:///{tmp_path / 'target.sqlite3'}")
    with pytest.raises(CopyError, match="9999 here"):
        copy_all(again, target, lambda *told: None)
    again.close()
    target.close()
