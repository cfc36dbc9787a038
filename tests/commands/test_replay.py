"""`replay` shows a difference as a diff, writes it down when told to, and never touches facts."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.__main__ import main
from bot.shipped import shipped

CLEAN = shipped("demo_conversations") / "11-a-clean-head.txt"


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    file = tmp_path / "talk.txt"
    file.write_text(CLEAN.read_text())
    return file


def test_a_talk_that_goes_as_written_is_silent(copy: Path, capsys):
    assert main(["replay", str(copy)]) == 0
    assert capsys.readouterr().out == "1 of 1 talks went as written\n"


def test_a_difference_is_shown_as_a_diff_of_two_conversations(copy: Path, capsys):
    copy.write_text(copy.read_text().replace("Kept as a clean find, thanks", "Kept, thank you"))
    assert main(["replay", str(copy)]) == 1
    out = capsys.readouterr().out
    assert "-+0:00 bot> Kept, thank you" in out
    assert "++0:00 bot> Kept as a clean find, thanks" in out
    assert out.endswith("0 of 1 talks went as written\n")


def test_accept_writes_the_bots_lines_back(copy: Path):
    copy.write_text(copy.read_text().replace("Kept as a clean find, thanks", "Kept, thank you"))
    assert main(["replay", "--accept", str(copy)]) == 0
    assert copy.read_text() == CLEAN.read_text()


def test_accept_leaves_a_fact_that_does_not_hold(copy: Path, capsys):
    copy.write_text(copy.read_text().replace("find: clean", "find: suspect"))
    assert main(["replay", "--accept", str(copy)]) == 1
    assert "find: suspect, but it is: clean" in capsys.readouterr().out
    assert "find: suspect" in copy.read_text()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("find: clean", "mood: good", "there is no such fact"),
        ("find: clean", "find 2: clean", "only 1 finds were opened"),
        ("animal: pig boar", "died at: -36.0 147.0 within 10 m", "m away"),
        ("animal: pig boar", "head at: -36.0 147.0 within 10 m", "not known"),
        ("animal: pig boar", "died: Mon", "Tue 17 Nov 05:00 to Tue 17 Nov 05:30"),
        ("review: nothing", "review: bleeding", "but it is: nothing"),
        ("pickup: none", "pickup: taken by f1", "but it is: none"),
    ],
)
def test_every_fact_can_fail(copy: Path, capsys, old: str, new: str, says: str):
    copy.write_text(copy.read_text().replace(old, new))
    assert main(["replay", str(copy)]) == 1
    assert says in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Starts"),
        ("T\nStarts: Sat 21 Nov 2026 06:10\n\n+0:00 nobody> hi\n", "'nobody' stands neither"),
        ("T\nStarts: Sat 21 Nov 2026 06:10\n\n+0:00 c1 takes over\n", "no find has been opened"),
        ("T\nStarts: Sat 21 Nov 2026 06:10\n\n+0:00 c1 dances\n", "nobody can 'c1 dances'"),
    ],
)
def test_a_bad_file_is_one_clear_line(tmp_path: Path, capsys, text: str, says: str):
    file = tmp_path / "bad.txt"
    file.write_text(text)
    assert main(["replay", str(file)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 1
    assert says in said[0]


def test_figures_are_counted(copy: Path, capsys):
    assert main(["replay", "--figures", str(copy)]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[1].split()[:5] == ["2", "3", "2", "0", "2"]
    assert "median over 1 completed finds: 2 texts, 3 segments" in out[2]
