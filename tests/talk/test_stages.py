"""How warm a head was kept, as the pickup is told it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.messages import Stage
from bot.reading.values import Animal, When
from bot.talk.pickup_talk import species, stages
from bot.talk.state import Answer, Conversation, Said

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
DIED = When(NOON - timedelta(hours=6), NOON - timedelta(hours=5))
WARM = Stage("warm", DIED.earliest)


def talk(**values: object) -> Conversation:
    answers = {key: Answer(key, value, "", NOON) for key, value in values.items()}
    return Conversation("7K4T", NOON, answers=answers)


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        (talk(), (Stage("warm", NOON),)),
        (talk(when=DIED), (WARM,)),
        (talk(when=DIED, storage=Said(("bagged", "warm"))), (WARM,)),
        (talk(when=DIED, storage=Said(("bagged", "frozen"))), (WARM, Stage("frozen", NOON))),
        (talk(when=DIED, storage=Said(("chilled",))), (WARM, Stage("chilled", NOON))),
        (talk(when=DIED, storage=Said((), "dunno")), (WARM,)),
    ],
)
def test_stages(told: Conversation, expected: tuple[Stage, ...]) -> None:
    assert stages(told) == expected


def test_species() -> None:
    assert species(talk(species=Animal("pig", "sow"))) == "pig"
    assert species(talk()) == ""
