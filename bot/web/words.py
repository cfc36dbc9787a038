"""The desk's words from dialogs/desk.toml, and how pages write times and lengths of time."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from bot.web import access, wired

FILE = "desk.toml"
SECTIONS = (
    *("reason", "question", "kind", "stage", "pickup", "offer", "delivery", "why_closed"),
    *("role", "act", "find_state", "why_not", "language", "ready_title", "duty", "roster_fault"),
)


class WordsError(ValueError):
    """desk.toml is at fault; the message names the section."""


@dataclass(frozen=True, slots=True)
class DeskWords:
    """Codes -> words, by section. `ready` holds a coordinator's ready-made sentences by
    language; English has them all."""

    sections: Mapping[str, Mapping[str, str]]
    ready: Mapping[str, dict[str, str]]

    def of(self, section: str, code: str) -> str:
        """The words for a code; one that has none is shown as it stands, readable."""
        return self.sections[section].get(code) or code.replace("_", " ")


def load_words(text: str) -> DeskWords:
    """The words of a desk.toml, or WordsError."""
    try:
        read: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise WordsError(f"{FILE}: {fault}") from fault
    sections = {section: _texts(read.get(section), section) for section in SECTIONS}
    ready = read.get("ready")
    if not isinstance(ready, dict) or "en" not in ready:
        raise WordsError(f"{FILE}: [ready.en] is missing")
    return DeskWords(sections, {code: _texts(t, f"ready.{code}") for code, t in ready.items()})


def _texts(table: object, section: str) -> dict[str, str]:
    if not isinstance(table, dict) or not all(isinstance(v, str) for v in table.values()):
        raise WordsError(f"{FILE}: [{section}] is missing or holds something but text")
    return table


def length_of(span: timedelta) -> str:
    """ "12 min", "7 h", "3 days": the largest unit that says enough, rounded down."""
    minutes = max(0, int(span.total_seconds() // 60))
    if minutes < 90:
        return f"{minutes} min"
    hours = minutes // 60
    return f"{hours} h" if hours < 48 else f"{hours // 24} days"


def moment(at: datetime) -> str:
    """ "Wed 25 Nov, 07:05" in the programme's zone."""
    local = at.astimezone(wired().programme.zone)
    return f"{local:%a} {local.day} {local:%b, %H:%M}"


def sentence(words: str) -> str:
    """The words with a capital at the beginning, the rest as it is."""
    return words[:1].upper() + words[1:]


def words_for_templates() -> dict[str, Any]:
    """What every template may use besides its own values."""
    wiring = wired()
    return {
        "programme": wiring.programme.head,
        "words": wiring.words.of,
        "sentence": sentence,
        "moment": moment,
        "length_of": length_of,
        "may": access.may,
    }
