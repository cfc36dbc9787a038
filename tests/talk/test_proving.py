"""A proved number is one to ring; a talk that goes on by another way is answered as that way is."""

from __future__ import annotations

import re

import pytest

from bot.messages import Closed, NumberProved, OpenPickup, Text
from bot.programme import load_programme
from bot.talk.state import Conversation, Said
from tests.talk.conftest import START, Talk

NUMBER = "+61491570156"  # From the numbers that Australia's regulator reserves for fiction.
REPORT = (
    "boar, pus in the jaw gland, yesterday 5pm, -36.85 147.15, head at Brindle Hut in a freezer"
)


@pytest.fixture
def talk(dialog, programme) -> Talk:
    return Talk(dialog, programme, Conversation("7K4T", START, channel="chat"))


def prove(talk: Talk) -> str:
    return talk.feed(NumberProved(talk.at, NUMBER))


def test_a_proved_number_is_asked_for_no_more_and_opens_the_pickup(talk: Talk):
    talk.text(REPORT)
    assert talk.now.pickup is None  # Staff could ring nobody.
    prove(talk)
    assert talk.now.answers["contact"].value == Said(words=NUMBER)
    (opened,) = [e for e in talk.effects if isinstance(e, OpenPickup)]
    assert opened.contact == NUMBER
    assert talk.now.asked.question != "contact"


def test_another_number_to_ring_stays(talk: Talk):
    talk.text("pus in the jaw gland, ring 0491 570 157")
    prove(talk)
    assert talk.now.answers["contact"].value.words == "0491 570 157"


def test_after_the_end_nothing_is_said(talk: Talk):
    talk.text(REPORT)
    talk.feed(Closed(talk.at, "ines"))
    assert prove(talk) == ""
    assert talk.now.stage == "closed"


def test_a_talk_that_goes_on_by_text_is_spelled_for_texts(real_dialog, programme):
    text = re.sub(r"languages = .*", 'languages = ["es"]', programme.files["programme.toml"])
    spanish = load_programme({**programme.files, "programme.toml": text})
    talk = Talk(
        real_dialog,
        spanish,
        Conversation("7K4T", START, channel="chat", language="es"),
    )
    assert "¿Qué" in talk.text("hola")
    said = talk.feed(Text("otra vez", talk.at, talk.at, channel="sms"))
    assert talk.now.channel == "sms"
    assert "habia" in said  # 3GPP TS 23.038: í is not in the alphabet, é is.
