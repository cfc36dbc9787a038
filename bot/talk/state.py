"""Where one conversation stands, as a frozen value that is stored whole.

The stored shape only grows: every new field has a default, and none is renamed or removed.
A field whose meaning changes gets a new VERSION and a line in `load`; tests hold a frozen
example of every old one.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec
from msgspec import Struct

from bot.reading.values import Animal, Checked, Choice, Place, Sign, When

VERSION = 1

Stage = Literal["asking", "settled", "closed"]


class Seen(Struct, frozen=True, tag="seen"):
    """What was seen and what was looked at. Neither means that the animal looked clean."""

    signs: tuple[Sign, ...] = ()
    checked: tuple[Checked, ...] = ()
    clean: bool = False


class Said(Struct, frozen=True, tag="said"):
    """A small answer: the keys that were read, or the hunter's own words under `words`."""

    keys: tuple[str, ...] = ()
    words: str = ""


Value = Place | When | Animal | Seen | Said


class Answer(Struct, frozen=True):
    """One answer with the words it came from. `at` is when those words were sent.

    `by` is "hunter", "pin", "photo" or "coordinator:<name>". `declined` holds a question that
    was asked and will not be answered.
    """

    question: str
    value: Value
    heard: str
    at: datetime
    by: str = "hunter"
    declined: bool = False


class Asked(Struct, frozen=True):
    """The one open question. `choices` are the readings on offer, numbered from 1."""

    question: str
    at: datetime
    choices: tuple[Choice, ...] = ()
    misses: int = 0


class PickupView(Struct, frozen=True):
    """What the conversation knows of its pickup. States are those of fieldwork."""

    state: str = "offered"
    staff_name: str = ""
    at: datetime | None = None
    words: str = ""


class Conversation(Struct, frozen=True):
    """One conversation about one find. `code` is what the hunter pencils on the card.

    `turn` counts events; a silence carries the turn at which it was set. `held` are the words
    that nobody could read, kept for the coordinator.
    """

    code: str
    started_at: datetime
    channel: Literal["sms", "chat"] = "sms"
    version: int = VERSION
    stage: Stage = "asking"
    language: str = ""
    turn: int = 0
    greeted: bool = False
    with_person: bool = False
    answers: dict[str, Answer] = {}
    asked: Asked | None = None
    misses: dict[str, int] = {}
    advised: tuple[str, ...] = ()
    reminders: int = 0
    put: dict[str, int] = {}
    """How often each question was put again, so that nobody reads one sentence three times."""
    silence_mark: int = -1
    read_back: bool = False
    pickup: PickupView | None = None
    opened_by: str = ""
    """Who opened the pickup: the bot ("bot") or a coordinator's name."""
    reviews: tuple[str, ...] = ()
    candidates: tuple[Place, ...] = ()
    held: tuple[str, ...] = ()
    last_text_at: datetime | None = None
    opted_out: bool = False
    correcting: bool = False
    """Whether the last text said only that something was wrong: the next one puts it right."""
    recent: tuple[str, ...] = ()
    """The last few long texts, folded, so that a repeat under another id is known."""
    kept: str = ""
    """The state in which the find was kept as evidence last, "" while it was not."""
    result: str = ""
    """What the laboratory says of the find: positive, negative, not_testable, or ""."""
    result_told: str = ""
    """The result as the hunter was told it last."""
    authority_told: bool = False
    jaw: str = ""
    """What became of the jaw: kept, handed_back, sent, or ""."""
    checking: str = ""
    """The step of the guided look at the glands that was asked last; "" while none is."""
    kind: str = ""
    """What the find is taken for: head, body, found_dead, blisters, bleeding, many_dead,
    livestock, clean, or "" while nothing was said. Decides advice and pickup."""


class StateError(ValueError):
    """A stored conversation that this version cannot read."""


def dump(conversation: Conversation) -> bytes:
    """The conversation as JSON, fit for storing."""
    return msgspec.json.encode(conversation)


def load(stored: bytes | str) -> Conversation:
    """A stored conversation of any version; StateError if it is none."""
    try:
        conversation = msgspec.json.decode(stored, type=Conversation)
    except msgspec.DecodeError as fault:
        raise StateError(f"stored conversation: {fault}") from fault
    if conversation.version > VERSION:
        raise StateError(
            f"stored conversation: version {conversation.version} is newer than {VERSION}"
        )
    return msgspec.structs.replace(conversation, version=VERSION)
