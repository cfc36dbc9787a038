"""The readings that a person may choose between with one click, instead of typing.

Two sources: the choices that the hunter was offered and has not answered, and words that nobody
could read, read again with their question. What is chosen is told as a Correction like any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bot.reading.read import read
from bot.reading.values import Animal, Choice, Place
from bot.scenes import scene_for
from bot.service.desk_rows import Card, ReviewRow
from bot.talk.wording import Speaker
from bot.web.wiring import Wiring

KINDS = {"place": ("kill_place", "head_at"), "species": ("species",)}
"""The questions for which a reader's choices stand. Days are left out: words like "Tuesday"
must not be read again on another day."""


@dataclass(frozen=True, slots=True)
class Offered:
    """One reading on offer. `choice` numbers the hunter's own choices from 1; else a point or
    words say it. `heard` are the words that it was read from."""

    question: str
    words: str
    heard: str = ""
    choice: int = 0
    lat: float | None = None
    lon: float | None = None
    accuracy_m: float = 0.0
    says: str = ""


def offered_of(wiring: Wiring, found: Card) -> tuple[Offered, ...]:
    """Every reading on offer for a find, each once."""
    speaker = Speaker(found.conversation, wiring.dialog, wiring.programme)
    rows = [*_asked(found, speaker), *_reread(wiring, found, speaker)]
    return tuple({(row.question, row.words): row for row in reversed(rows)}.values())[::-1]


def _asked(found: Card, speaker: Speaker) -> Iterator[Offered]:
    asked = found.conversation.asked
    if asked is not None:
        for number, choice in enumerate(asked.choices, 1):
            yield Offered(asked.question, speaker.choice(choice), choice=number)


def _reread(wiring: Wiring, found: Card, speaker: Speaker) -> Iterator[Offered]:
    for row in found.reviews:
        question = row.reason.removeprefix("unread_")
        if row.closed_at is None and question != row.reason and row.heard:
            yield from _by_value(question, row.heard, _choices(wiring, question, row), speaker)


def _choices(wiring: Wiring, question: str, row: ReviewRow) -> Iterator[Choice]:
    scene = scene_for(wiring.programme, wiring.dialog.words, row.opened_at, question)
    for unclear in read(row.heard, scene).unclear:
        if question in KINDS.get(unclear.question, ()):
            yield from unclear.choices


def _by_value(
    question: str, heard: str, choices: Iterable[Choice], speaker: Speaker
) -> Iterator[Offered]:
    for choice in choices:
        value, words = choice.value, speaker.choice(choice)
        if isinstance(value, Place):
            yield Offered(
                question,
                f"{words} ({value.lat:.4f}, {value.lon:.4f})",
                heard,
                lat=value.lat,
                lon=value.lon,
                accuracy_m=value.accuracy_m,
            )
        elif isinstance(value, Animal) and (value.sort or value.species):
            yield Offered(question, words, heard, says=value.sort or value.species)
