"""A disk that fills up: what was acknowledged stays, what was not is tried again, and nothing
needs mending when there is room again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import open_database
from tests.faults.house import mount, throw_away
from tests.service.fakes import NOON, column, heard, new_intake


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    disk = tmp_path / "disk"
    disk.mkdir()
    if not mount(disk, 4):
        pytest.skip("a small disk needs mount, which only root may use")
    yield disk
    throw_away(disk, True)


def test_a_full_disk_loses_nothing_that_was_acknowledged(
    small_disk: Path, programme: Programme
) -> None:
    database = open_database(f"sqlite:///{small_disk / 'bushpost.sqlite3'}")
    intake = new_intake(database, programme)
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"\0" * 1_000_000)
    acknowledged: list[str] = []

    def fill_up() -> None:
        for n in range(5_000):
            intake.hear(heard("x" * 3_000, str(n)), NOON + timedelta(seconds=n))
            acknowledged.append(str(n))

    with pytest.raises(OperationalError, match="full"):
        fill_up()
    assert 10 < len(acknowledged) < 5_000
    assert sorted(column(database, t.TextIn.gateway_id)) == sorted(acknowledged)
    with pytest.raises(OperationalError):
        intake.hear(heard("x" * 3_000, "again"), NOON)
    ballast.unlink()
    assert not intake.hear(heard("x" * 3_000, "again"), NOON).repeat
    assert sorted(column(database, t.TextIn.gateway_id)) == sorted([*acknowledged, "again"])
    with database.read() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
    database.close()
