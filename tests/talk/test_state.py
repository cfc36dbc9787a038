"""Stored conversations of every version still load; a newer one or no state at all is named."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bot.reading.values import Place
from bot.talk.state import VERSION, StateError, dump, load

STORED = sorted((Path(__file__).parent / "states").glob("v*.json"))


def test_there_is_an_example_of_every_version() -> None:
    assert [p.stem for p in STORED] == [f"v{n}" for n in range(1, VERSION + 1)]


@pytest.mark.parametrize("path", STORED, ids=lambda p: p.stem)
def test_an_old_state_loads_and_keeps_its_answers(path: Path) -> None:
    now = load(path.read_text("utf-8"))
    assert now.version == VERSION
    assert now.kind == "head"
    assert isinstance(now.answers["kill_place"].value, Place)
    assert now.answers["contact"].heard
    assert load(dump(now)) == now


@pytest.mark.parametrize("stored", ["", "[]", '{"code": 1}', "not json"])
def test_what_is_no_state_is_named(stored: str) -> None:
    with pytest.raises(StateError, match="stored conversation"):
        load(stored)


def test_a_state_from_the_future_is_refused() -> None:
    state = json.loads(STORED[-1].read_text("utf-8")) | {"version": VERSION + 1}
    with pytest.raises(StateError, match="newer"):
        load(json.dumps(state))
