"""`bushpost chat`: a hunter who has never texted talks to the bot, and time passes when told to."""

from __future__ import annotations

import io

from bot.__main__ import main


def test_a_talk_in_the_terminal(monkeypatch, capsys):
    typed = "boar with pus in the jaw gland\n\n/wait 20h\n/quit\nnot read\n"
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    assert main(["chat"]) == 0
    said = capsys.readouterr().out
    assert "(2 segments): Stop cutting there" in said
    assert said.count("to +61491570110") == 3
    assert "We still need to know where it died" in said


def test_a_bad_folder_is_one_clear_line(tmp_path, capsys):
    assert main(["chat", "--programme", str(tmp_path)]) == 2
    assert capsys.readouterr().err.startswith("bushpost chat: programme.toml is missing")
