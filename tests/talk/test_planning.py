"""Which questions have a place in a find as it stands, whether they were asked or not."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bot.messages import Correction
from bot.programme import Programme
from bot.reading.values import Animal
from bot.talk.dialog import Dialog
from bot.talk.planning import is_open, matters
from bot.talk.state import Answer, Conversation, PickupView, Said
from tests.talk.conftest import Talk

NOW = datetime(2026, 11, 21, 20, 10, tzinfo=UTC)
ALWAYS = {"seen", "kill_place", "when", "species"}
SUSPECT = ALWAYS | {"land", "name"}
HEAD = SUSPECT | {"head_at", "storage"}
PIG = Animal(species="pig")


def said(*keys: str) -> Said:
    return Said(keys)


@pytest.mark.parametrize(
    ("kind", "channel", "pickup", "values", "matter"),
    [
        ("", "sms", "", {}, ALWAYS),
        ("clean", "sms", "", {}, ALWAYS),
        ("clean", "chat", "", {}, ALWAYS),
        ("body", "sms", "", {}, SUSPECT),
        ("body", "chat", "", {}, SUSPECT | {"contact"}),
        ("found_dead", "sms", "", {}, SUSPECT),
        ("head", "sms", "", {}, HEAD),
        ("head", "sms", "", {"species": PIG}, HEAD | {"jaw"}),
        ("head", "sms", "", {"storage": said("dog_took")}, HEAD - {"head_at", "storage"}),
        ("head", "sms", "", {"carcase": said("yes")}, HEAD - {"head_at", "storage"}),
        ("head", "sms", "taken", {"land": said("private")}, HEAD | {"access"}),
        ("head", "sms", "taken", {"land": said("state_forest")}, HEAD),
        ("head", "sms", "handed_in", {"land": said("private")}, HEAD),
        ("head", "sms", "nobody_home", {}, HEAD | {"nobody_home"}),
        ("head", "sms", "wrong_head", {}, HEAD | {"wrong_head"}),
        ("head", "sms", "brings", {}, HEAD | {"depot", "hand_in"}),
        (
            "head",
            "sms",
            "brings",
            {"depot": said("Kerrin Flat Depot")},
            (HEAD | {"depot", "hand_in"}) - {"head_at"},
        ),
    ],
)
def test_what_matters_follows_from_how_the_find_stands(
    kind, channel, pickup, values, matter, dialog: Dialog, programme: Programme
) -> None:
    talk = Conversation(
        "K7R-4TR",
        NOW,
        kind=kind,
        channel=channel,
        pickup=PickupView(pickup) if pickup else None,
        answers={key: Answer(key, value, "", NOW) for key, value in values.items()},
    )
    assert {q.key for q in dialog.questions if matters(q, talk, programme)} == matter


def test_whatever_is_open_matters_all_through_a_talk(talk: Talk) -> None:
    texts = ("boar, pus in the jaw gland", "at Brindle Creek", "today 6am", "I'll bring it in")
    for words in texts:
        talk.text(words)
        for question in talk.dialog.questions:
            if is_open(question, talk.now, talk.programme):
                assert matters(question, talk.now, talk.programme), question.key


def test_what_does_not_matter_can_still_be_set_by_a_person(talk: Talk) -> None:
    talk.text("sow, lumps in the lungs, today 6am at Brindle Creek")
    question = talk.dialog.by_key["head_at"]
    assert not matters(question, talk.now, talk.programme)
    talk.feed(Correction(talk.at, "ines", "head_at", "at Brindle Hut"))
    assert talk.now.answers["head_at"].heard == "Brindle Hut"
