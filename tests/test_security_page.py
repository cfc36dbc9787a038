"""Every test that the page on security names is there, and every chapter of the standard is
spoken of: OWASP ASVS 5.0.0 has seventeen, V1 to V17."""

from __future__ import annotations

import re
from pathlib import Path

import bot

ROOT = Path(bot.__file__).parents[1]
PAGE = (ROOT / "bot/manual/security.md").read_text(encoding="utf-8")


def test_every_named_test_is_there():
    named = re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", PAGE)
    assert len(named) > 25
    missing = [
        f"{path}::{name}"
        for path, name in named
        if f"def {name}(" not in (ROOT / path).read_text(encoding="utf-8")
    ]
    assert missing == []


def test_every_chapter_is_spoken_of():
    chapters = {int(n) for n in re.findall(r"^\| V(\d+)[ .]", PAGE, re.M)}
    assert chapters == set(range(1, 18))


def test_what_is_not_met_is_said():
    assert PAGE.split("## Not met")[1].count("\n| ") > 5
