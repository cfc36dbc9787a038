"""PURE. A conversation in the words by which somebody may look for it: its code, what was
understood, places by name, days in several spellings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from bot.programme import Programme
from bot.reading.values import Place, When
from bot.talk.dialog import Dialog
from bot.talk.state import Answer, Conversation, Said
from bot.talk.wording import Speaker

MOST_DAYS = 8
"""A longer span is named by its ends only."""


def card_words(talk: Conversation, dialog: Dialog, programme: Programme) -> str:
    """All of it in one line, unfolded."""
    speaker = Speaker(talk, dialog, programme)
    words = [talk.code, talk.kind.replace("_", " "), *_day(talk.started_at, programme)]
    for answer in talk.answers.values():
        if not answer.declined:
            words += [speaker.answer(answer), *_more(answer, programme)]
    if talk.pickup is not None:
        words.append(talk.pickup.staff_name)
    return " ".join(filter(None, words))


def _more(answer: Answer, programme: Programme) -> Iterator[str]:
    value = answer.value
    if isinstance(value, Place):
        yield value.landmark
        yield programme.zone_of(value.lat, value.lon)
    elif isinstance(value, When):
        days = min((value.latest - value.earliest).days, MOST_DAYS)
        for n in range(days + 1):
            yield from _day(min(value.earliest + timedelta(days=n), value.latest), programme)
    elif isinstance(value, Said):
        yield value.words


def _day(at: datetime, programme: Programme) -> tuple[str, str]:
    """ "2026-11-25" and "Wednesday 25 November": a month is found by its beginning too."""
    local = at.astimezone(programme.zone)
    return local.date().isoformat(), f"{local:%A} {local.day} {local:%B}"
