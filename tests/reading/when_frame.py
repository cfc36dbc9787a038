"""A stand-in for the words of a programme: the shipped calendar, and nothing else."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo
from types import SimpleNamespace
from typing import Any

from bot.reading.calendar_words import load_calendar
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Found, Unclear, When
from bot.reading.when import read_when
from bot.shipped import shipped

FOLDER = shipped("dialogs") / "when"
CALENDAR = load_calendar({p.name: p.read_text("utf-8") for p in sorted(FOLDER.glob("*.toml"))})
WORDS: Any = SimpleNamespace(calendar=CALENDAR)
LANGUAGES = ("en", "es", "fr")

CARRIERS = {
    "en": (
        "{}",
        "shot a boar {} near the hut, 2 lumps",
        "Killed one up the creek {}. 60kg, 3 lumps",
    ),
    "es": ("{}", "jabalí abatido {} cerca del río, 2 bultos", "maté una cerda de 60 kg {}."),
    "fr": ("{}", "sanglier abattu {} près du lac, 2 bosses", "tué une laie de 60 kg {}."),
}


def scene(now: datetime, zone: tzinfo | None = None, **more: Any) -> Scene:
    """A scene with all three languages; the zone is that of `now` unless given."""
    more = {"languages": LANGUAGES, **more}
    return Scene(now=now, zone=zone or now.tzinfo, words=WORDS, **more)  # type: ignore[arg-type]


def read(text: str, frame: Scene) -> tuple[Found[When] | None, tuple[Unclear, ...]]:
    """What `read_when` makes of a bare text."""
    return read_when(Page(text), frame)


def outcome(text: str, frame: Scene) -> str:
    """The day as ISO date, "run" for more than a day, the reason, or "" for nothing read."""
    found, unclear = read(text, frame)
    if found is None:
        return unclear[0].why if unclear else ""
    span = found.value.latest - found.value.earliest
    return "run" if span > timedelta(hours=25) else found.value.earliest.date().isoformat()
