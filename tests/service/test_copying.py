"""A database in another: every row, the same numbers, and numbering goes on behind them."""

from __future__ import annotations

import shutil
import threading
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import func, insert, select, update

from bot.__main__ import main
from bot.messages import Heard
from bot.programme import Programme
from bot.service import tables as t
from bot.service.copying import TABLES, CopyError, copy_all, opened_backup
from bot.service.database import Database, open_database
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog

MORNING = datetime(2026, 11, 25, 0, 0, 30, 123456, tzinfo=UTC)
FIND = (
    "Shot a boar at -36.9051, 147.1822 yesterday about 9pm, pus in the gland under the jaw. "
    "Head bagged in the freezer at Kerrin Flat depot. State forest. Name's Gil, jaw back please"
)
ODD_NAMES = ("a b", "a-b", "aB", "ab", "Z", "z", "ä", "å", "日")
"""Names that collations put in another order than their bytes."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, programme: Programme) -> Path:
    """A SQLite database with two finds, a pickup, a picture and accounts."""
    file = tmp_path_factory.mktemp("kept") / "bushpost.sqlite3"
    database = open_database(f"sqlite:///{file}")
    import_roster(database, programme.roster)
    intake = open_intake(database, load_dialog(dialog_files()), programme)
    for n, number in enumerate(("+61491570006", "+61491570110")):
        intake.hear(Heard(str(n), "paddock", number, FIND, MORNING), MORNING)
    with database.write() as connection:
        picture = {"key": "k", "type": "image/jpeg", "data": bytes(range(256)), "kept_at": MORNING}
        connection.execute(insert(t.Photo).values(picture))
        for name in ODD_NAMES:
            row = {"name": name, "password_hash": "x", "role": "coordinator", "created_at": MORNING}
            connection.execute(insert(t.Account).values(row))
    database.close()
    return file


@pytest.fixture
def source(kept: Path, tmp_path: Path) -> Database:
    return open_database(f"sqlite:///{shutil.copy(kept, tmp_path / 'source.sqlite3')}")


def silent(doing: str, done: int, goal: int) -> None:
    assert 0 <= done <= goal


def total(database: Database) -> int:
    with database.read() as connection:
        return sum(
            connection.scalar(select(func.count()).select_from(table)) or 0 for table in TABLES
        )


def test_every_table_is_copied() -> None:
    assert {table.name for table in TABLES} == set(t.Base.metadata.tables)


def test_all_of_it_is_there_and_numbering_goes_on(source: Database, database: Database) -> None:
    copied = copy_all(source, database, silent, hold=True)
    assert copied.total == total(source) == total(database) > 50
    assert (copied.replayed.talks, copied.replayed.differing) == (2, ())
    with database.write() as connection:
        row = {"stream": "pickup", "stream_id": 1, "mark": 1, "due_at": MORNING}
        latest = connection.scalar(select(func.max(t.Timer.id)))
        new = connection.execute(insert(t.Timer).returning(t.Timer.id), row).scalar_one()
        assert new == latest + 1
        when = connection.scalar(select(t.TextIn.arrived_at).limit(1))
    assert when == MORNING


def test_what_is_not_empty_is_refused(source: Database, database: Database) -> None:
    with database.write() as connection:
        row = {"at": MORNING, "who": "ines", "act": "seen", "what": "K7R-4TR"}
        connection.execute(insert(t.Audit).values(row))
    with pytest.raises(CopyError, match="rows in audit"):
        copy_all(source, database, silent)
    assert total(database) == 1


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (update(t.TextIn).where(t.TextIn.id == 2).values(body="other"), "row 2 of texts_in"),
        (t.Timer.__table__.delete(), "of timers"),
        (insert(t.Audit).values(at=MORNING, who="x", act="y", what="z"), "of audit"),
    ],
)
def test_a_row_that_differs_undoes_the_copy(
    source: Database, sqlite: Database, monkeypatch: pytest.MonkeyPatch, damage, words: str
) -> None:
    """A fault between writing and comparing, put there by the copy's own last step."""

    def spoil(new) -> None:
        new.execute(damage)

    monkeypatch.setattr("bot.service.copying.go_on_numbering", spoil)
    with pytest.raises(CopyError, match=words):
        copy_all(source, sqlite, silent)
    assert total(sqlite) == 0


def test_a_backup_is_of_one_state_while_texts_come_in(
    database: Database, tmp_path: Path, programme: Programme, capsys: pytest.CaptureFixture[str]
) -> None:
    intake = open_intake(database, load_dialog(dialog_files()), programme)
    stop, numbers, faults = threading.Event(), count(1), list[Exception]()

    def text_in() -> None:
        while not stop.is_set():
            n = next(numbers)
            at = MORNING + timedelta(seconds=n)
            try:
                intake.hear(Heard(str(n), "paddock", "+61491570006", FIND, at), at)
            except Exception as fault:
                faults.append(fault)

    address = database.engine.url.render_as_string(hide_password=False)
    writer = threading.Thread(target=text_in)
    writer.start()
    file = tmp_path / "backup.sqlite3"
    try:
        while next(numbers) < 8:
            stop.wait(0.05)
        assert main(["backup", str(file), "--database", address]) == 0
        assert main(["backup", str(file), "--database", address]) == 2
    finally:
        stop.set()
        writer.join()
    assert not faults
    assert file.stat().st_mode & 0o077 == 0
    assert "play again as stored" in capsys.readouterr().out
    restored = tmp_path / "restored.sqlite3"
    assert main(["restore", str(file), "--database", f"sqlite:///{restored}"]) == 0
    with opened_backup(file) as backup, backup.read() as connection:
        texts = connection.scalar(select(func.count()).select_from(t.TextIn))
        events = select(func.count()).where(t.Event.kind == "text")
        assert texts == connection.scalar(events) > 0
    assert total(open_database(f"sqlite:///{restored}")) > texts


@pytest.mark.parametrize("database", ["postgresql"], indirect=True)
def test_move_takes_sqlite_to_postgresql(
    source: Database, postgres_url: str, database: Database, capsys: pytest.CaptureFixture[str]
) -> None:
    old = source.engine.url.render_as_string()
    assert main(["move", "--database", old, "--to", postgres_url]) == 0
    assert "each compared with the original" in capsys.readouterr().out
    assert total(database) == total(source)
    assert main(["move", "--database", old, "--to", postgres_url]) == 2
    assert "not empty" in capsys.readouterr().err


@pytest.mark.parametrize("content", [None, b"", b"no database at all"])
def test_restore_refuses_what_is_no_backup(
    tmp_path: Path, content: bytes | None, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "backup"
    if content is not None:
        file.write_bytes(content)
    assert main(["restore", str(file), "--database", f"sqlite:///{tmp_path / 'new'}"]) == 2
    assert capsys.readouterr().err.startswith("bushpost restore: ")
