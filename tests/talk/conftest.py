"""A talk to play with: the real readers and rules, and a dialog that says only its keys.

So that a changed comma in the wording breaks no test of the conversation.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.messages import Effect, Event, Photo, Pin, SendText, Silence, Text, WaitFor
from bot.programme import Programme, load_programme, read_folder
from bot.shipped import shipped
from bot.talk.conversation import step
from bot.talk.dialog import Dialog, load_dialog, read_dialogs
from bot.talk.state import Conversation

START = datetime(2026, 11, 21, 20, 10, tzinfo=UTC)  # Sunday 07:10 in the programme's zone


@pytest.fixture(scope="session")
def real_dialog() -> Dialog:
    return load_dialog(read_dialogs(shipped("dialogs")))


@pytest.fixture(scope="session")
def dialog(real_dialog: Dialog) -> Dialog:
    keyed = {key: f"[{key}]" for key in real_dialog.sentences["en"]}
    return replace(real_dialog, sentences={"en": keyed})


@pytest.fixture(scope="session")
def programme() -> Programme:
    return load_programme(read_folder(Path(shipped("demo_conversations")) / "programme"))


@pytest.fixture(scope="session")
def detaining(programme: Programme) -> Programme:
    """The same programme under a law that keeps a suspect carcase where it lies."""
    text = programme.files["programme.toml"].replace(
        "head_may_move = true", "head_may_move = false"
    )
    assert text != programme.files["programme.toml"]
    return load_programme({**programme.files, "programme.toml": text})


@dataclass
class Talk:
    """One conversation under way: every act moves five minutes on and gives what was said."""

    dialog: Dialog
    programme: Programme
    now: Conversation = field(default_factory=lambda: Conversation("7K4T", START))
    at: datetime = START
    effects: tuple[Effect, ...] = ()

    def feed(self, event: Event) -> str:
        self.now, self.effects = step(self.now, event, self.dialog, self.programme)
        return " ".join(e.body for e in self.effects if isinstance(e, SendText))

    def text(self, body: str, sent_at: datetime | None = None, **more: Any) -> str:
        self.at += timedelta(minutes=5)
        return self.feed(Text(body, sent_at or self.at, self.at, **more))

    def silence(self, hours: float = 3) -> str:
        self.at += timedelta(hours=hours)
        return self.feed(Silence(self.at, self.now.silence_mark))

    def all(self, kind: type) -> list[Any]:
        return [e for e in self.effects if isinstance(e, kind)]

    @property
    def reasons(self) -> tuple[str, ...]:
        return self.now.reviews

    @property
    def waits(self) -> list[WaitFor]:
        return self.all(WaitFor)


@pytest.fixture
def talk(dialog: Dialog, programme: Programme) -> Talk:
    return Talk(dialog, programme)


@pytest.fixture
def photo() -> Photo:
    return Photo("p1", Pin(-36.9, 147.2, 10), datetime(2026, 11, 21, 6, 2, tzinfo=UTC))
