"""The documents say what is there: every command, setting, event and path in them is checked.

The transition table in DEVELOPERS.md is drawn from the code; set BUSHPOST_DRAW=1 to redraw it.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import get_args

import pytest

import bot
from bot import messages
from bot.__main__ import COMMANDS
from bot.demo.facts import FACTS
from bot.fieldwork.pickups import TABLE
from bot.programme import Head
from bot.talk.dialog import Kind

ROOT = Path(bot.__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
MANUAL = {page.name: page.read_text("utf-8") for page in (ROOT / "bot/manual").glob("*.md")}
TWO_COMMANDS = (
    "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/bushpost demo",
    "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/pytest",
)


def named(union: object) -> list[str]:
    return [kind.__name__ for kind in get_args(union)]


def test_the_readme_opens_with_the_job_and_gives_the_two_commands():
    first = README.split("\n\n")[1]
    assert all(word in first for word in ("hunter", "texts", "pickup", "coordinator"))
    assert all(f"\n{command}\n" in README for command in TWO_COMMANDS)


def test_the_readmes_talk_is_the_one_that_is_played():
    talk = (ROOT / "demo_conversations/01-all-in-one-text.txt").read_text(encoding="utf-8")
    shown = README.split("```\n+0:00 hunter>")[1].split("```")[0]
    for row in shown.splitlines():
        assert row.removesuffix(" ...").strip() in talk, row


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str):
    assert f"`bushpost {command}`" in README


def test_no_command_is_made_up():
    text = README + DEVELOPERS + "".join(MANUAL.values())
    assert set(re.findall(r"bushpost ([a-z][a-z-]+)", text)) - {"demo"} <= set(COMMANDS)


def test_settings_are_those_that_are_read():
    documented = set(re.findall(r"BUSHPOST_[A-Z]+(?:_[A-Z]+)*", README))
    read = set(re.findall(r'"(BUSHPOST_[A-Z_]+)"', (ROOT / "bot/settings.py").read_text("utf-8")))
    assert len(read) > 5
    assert documented == read | {"BUSHPOST_PADDOCK_SECRET"}


@pytest.mark.parametrize("setting", Head.__struct_fields__)
def test_every_setting_of_a_programme_is_in_the_manual(setting: str):
    assert re.search(rf"`\[?{setting}\b", MANUAL["programme.md"])


@pytest.mark.parametrize(
    "name",
    [
        *named(messages.Event),
        *named(messages.PickupEvent),
        *named(messages.Effect),
        *get_args(Kind),
    ],
)
def test_every_event_effect_and_kind_of_question_is_in_developers(name: str):
    assert re.search(rf"\b{name}\b", DEVELOPERS)


@pytest.mark.parametrize("fact", FACTS)
def test_every_fact_of_a_transcript_is_in_the_manual(fact: str):
    assert f"`{fact}`" in MANUAL["transcripts.md"]


PATH = re.compile(r"`?((?:bot|dialogs|demo_conversations|tests|\.ci)/[\w./-]*)")


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", *sorted(MANUAL)])
def test_every_path_that_is_named_exists(name: str):
    text = README if name == "README.md" else MANUAL.get(name, DEVELOPERS)
    paths = {p.rstrip(".") for p in PATH.findall(text)}
    missing = [p for p in paths if "xx.toml" not in p and not (ROOT / p).exists()]
    assert not missing


@pytest.mark.parametrize("name", sorted(MANUAL))
def test_a_manual_page_is_short_and_has_a_heading(name: str):
    assert MANUAL[name].startswith("# ")
    assert len(MANUAL[name].splitlines()) < 120


def test_developers_is_short():
    assert len(DEVELOPERS.splitlines()) < 150


START, END = "<!-- table: pickups -->\n", "<!-- end -->"


def drawn() -> str:
    rows = ["| from | event: what it becomes |", "|---|---|"]
    for state, steps in TABLE.items():
        told = "; ".join(f"{event}: {' or '.join(step[1])}" for event, step in steps.items())
        rows.append(f"| {state} | {told or 'nothing more'} |")
    return "\n".join(rows) + "\n"


def test_the_pickups_table_is_the_codes_own():
    before, rest = DEVELOPERS.split(START)
    table, after = rest.split(END)
    if os.environ.get("BUSHPOST_DRAW"):
        text = f"{before}{START}{drawn()}{END}{after}"
        (ROOT / "DEVELOPERS.md").write_text(text, encoding="utf-8")
        return
    assert table == drawn()
