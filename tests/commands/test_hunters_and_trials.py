"""`erase`, `export` and `try` from the command line, on a database that a talk was stored in."""

from __future__ import annotations

import io
import json
import shutil
from datetime import UTC, datetime

import pytest

from bot.__main__ import main
from bot.messages import Heard
from bot.service.database import open_database
from bot.service.wiring import open_intake
from bot.shipped import dialog_files, shipped
from bot.talk.dialog import load_dialog

HUNTER = "+61491570006"
WORDS = "lump in the jaw of a boar, near Brindle Hut, zanzibarred"


@pytest.fixture
def address(tmp_path, programme):
    address = f"sqlite:///{tmp_path / 'stored.sqlite3'}"
    database = open_database(address)
    intake = open_intake(database, load_dialog(dialog_files()), programme)
    now = datetime.now(UTC)
    intake.hear(Heard("1", "paddock", HUNTER, WORDS, now), now)
    database.close()
    return address


def run(address, *words):
    return main([*words, "--database", address])


def test_export_then_erase_then_nobody(address, capsys, monkeypatch):
    assert run(address, "export", "0491 570 006") == 0
    held = json.loads(capsys.readouterr().out)
    assert held["hunters"][0]["texts"][0]["body"] == WORDS
    monkeypatch.setattr("sys.stdin", io.StringIO("no\n"))
    assert run(address, "erase", HUNTER) == 1
    assert run(address, "export", HUNTER) == 0
    monkeypatch.setattr("sys.stdin", io.StringIO("erase\n"))
    assert run(address, "erase", HUNTER) == 0
    assert "texts of 1 talks are blank" in capsys.readouterr().out
    for command in ("export", "erase"):
        assert run(address, command, HUNTER) == 2
        assert "no hunter is known" in capsys.readouterr().err


def test_try_says_what_would_part(address, capsys, tmp_path):
    folder = tmp_path / "changed"
    shutil.copytree(shipped("dialogs"), folder)
    assert run(address, "try", str(folder)) == 0
    assert "0 of 1 talks part: +0 texts" in capsys.readouterr().out
    file = folder / "report.toml"
    dialog = load_dialog(dialog_files())
    ask = next(q.ask for q in dialog.questions if q.key == "when")
    file.write_text(file.read_text("utf-8").replace(ask, "On which day was that?"), "utf-8")
    assert run(address, "try", str(folder)) == 1
    printed = capsys.readouterr().out
    assert "On which day was that?" in printed
    assert "1 of 1 talks part" in printed
    assert run(address, "try", str(tmp_path / "nowhere")) == 2
