"""`bushpost carry` where it cannot begin: one line, and no traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.__main__ import main


@pytest.mark.parametrize("name", ["paddock", "nowhere"])
def test_a_gateway_without_a_line_is_said(tmp_path: Path, name: str, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["carry", name, "--database", f"sqlite:///{tmp_path / 'x.sqlite3'}"]) == 2
    said = capsys.readouterr().err.splitlines()[-1]
    assert said == f"bushpost carry: {name!r} is no gateway with a line: none of this programme's"
