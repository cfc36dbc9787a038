"""`bushpost read`: one JSON object a text, and faults as one line with exit code 2."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from bot.__main__ import main

NOW = "2026-11-25T14:00:00+11:00"


def run(capsys: pytest.CaptureFixture[str], *args: str) -> list[dict[str, Any]]:
    assert main(["read", *args]) == 0
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_text_on_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    (made,) = run(capsys, "--now", NOW, "boar, pus in the jaw gland, yesterday, Brindle Hut")
    assert made["species"]["name"] == "pig"
    assert made["place"]["landmark"] == "Brindle Hut"
    assert made["when"]["earliest"] == "2026-11-24T00:00:00+11:00"


def test_texts_from_stdin(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("sow\n\nhind\n"))
    made = run(capsys, "--now", NOW)
    assert [m["species"] and m["species"]["sort"] for m in made] == ["sow", None, "hind"]


def test_jsonl_carries_its_own_clock_and_order(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = [
        {"text": "shot it 3/4", "now": "2020-06-01T09:00:00-05:00", "order": "MDY"},
        {"text": "shot it 3/4", "now": "2020-06-01T09:00:00-05:00"},
        {"text": "ayer", "now": "2020-06-01T09:00:00-05:00", "language": "es"},
    ]
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(map(json.dumps, rows))))
    made = run(capsys, "--jsonl", "--anywhere")
    assert [m["when"]["earliest"][:10] for m in made] == ["2020-03-04", "2020-04-03", "2020-05-31"]
    assert all(m["when"]["earliest"].endswith("-05:00") for m in made)


def test_anywhere_takes_places_and_days_that_the_programme_would_not(
    capsys: pytest.CaptureFixture[str],
) -> None:
    text = "shot 51.47788, -0.00147 on 2/3/2019"
    (near,) = run(capsys, "--now", NOW, text)
    assert near["place"] is None
    assert near["when"] is None
    (far,) = run(capsys, "--now", NOW, "--anywhere", text)
    assert (far["place"]["lat"], far["place"]["lon"]) == (51.47788, -0.00147)
    assert far["when"]["earliest"] == "2019-03-02T00:00:00+11:00"


@pytest.mark.parametrize(
    ("args", "stdin", "said"),
    [
        (("--programme", "/nowhere", "boar"), "", "/nowhere"),
        (("--jsonl",), '{"text": "a"}\n{"txt": 1}\n', "line 2"),
        (("--jsonl",), "boar\n", "line 1"),
        (("--jsonl",), '{"text": "a", "order": "XYZ"}\n', "order"),
    ],
)
def test_a_fault_is_one_line(
    args: tuple[str, ...],
    stdin: str,
    said: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(stdin))
    assert main(["read", *args]) == 2
    fault = capsys.readouterr().err
    assert fault.count("\n") == 1
    assert said in fault


def test_a_bad_moment_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["read", "--now", "teatime", "boar"])
    assert left.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_programme_of_ones_own(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    from bot.shipped import shipped

    source = shipped("demo_conversations") / "programme"
    for file in source.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "landmarks.csv").write_text("name,lat,lon\nZebedee Rocks,-36.9,147.2\n")
    (made,) = run(capsys, "--programme", str(tmp_path), "--now", NOW, "boar at Zebedee Rocks")
    assert made["place"]["landmark"] == "Zebedee Rocks"
