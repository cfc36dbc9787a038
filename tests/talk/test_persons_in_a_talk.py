"""A person in a conversation: asked for, writing, correcting, sending, and closing it."""

from __future__ import annotations

import pytest

from bot.messages import (
    CallOff,
    Closed,
    Correction,
    HandedBack,
    OpenPickup,
    PersonWrote,
    Pin,
    SendNow,
    SendText,
    TakenOver,
)
from bot.reading.values import Place
from bot.talk.conversation import NotUnderstood
from tests.talk.conftest import Talk

FULL = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)
HEAD = "got a boar with pus in the jaw gland"


def test_a_wish_for_a_person(talk: Talk) -> None:
    assert "[person_asked]" in talk.text("can I talk to a real person please")
    assert "asked_for_person" in talk.reasons


def test_while_a_person_writes_the_bot_says_only_what_is_safety(talk: Talk) -> None:
    talk.text(HEAD)
    talk.feed(TakenOver(talk.at, "ines"))
    assert talk.text("it was at Brindle Hut") == ""
    assert "kill_place" in talk.now.answers
    assert talk.text("cut my finger on it") == "[exposure.cut]"
    assert "hunter_wrote" in talk.reasons
    talk.feed(PersonWrote(talk.at, "ines", "Get that finger seen, Dave."))
    assert talk.all(SendText) == [SendText("Get that finger seen, Dave.", "person")]
    assert "[when.ask]" in talk.feed(HandedBack(talk.at, "ines"))


def test_a_coordinators_word_stays_and_a_different_one_is_brought_up(talk: Talk) -> None:
    talk.text(HEAD)
    talk.feed(Correction(talk.at, "ines", "kill_place", "Tallow Saddle"))
    place = talk.now.answers["kill_place"]
    assert place.by == "coordinator:ines"
    talk.text("shot it at Brindle Hut")
    assert talk.now.answers["kill_place"] == place
    assert "hunter_corrects_coordinator" in talk.reasons


def test_a_correction_that_nobody_can_read_changes_nothing(talk: Talk) -> None:
    talk.text(HEAD)
    before = talk.now
    with pytest.raises(NotUnderstood, match="kill_place"):
        talk.feed(Correction(talk.at, "ines", "kill_place", "flurble"))
    assert talk.now == before


def test_a_correction_by_a_point_on_the_map(talk: Talk) -> None:
    talk.text(HEAD)
    talk.feed(Correction(talk.at, "ines", "head_at", "map", Pin(-36.9, 147.1, 20)))
    assert talk.now.answers["head_at"].value == Place(-36.9, 147.1, 20, "pin")
    assert talk.all(OpenPickup)


def test_a_person_may_send_somebody_where_the_bot_may_not(talk: Talk) -> None:
    talk.text("sow with lumps in the lungs, shot at Tallow Saddle yesterday")
    assert not talk.all(OpenPickup)
    talk.feed(SendNow(talk.at, "ines"))
    [opened] = talk.all(OpenPickup)
    assert opened.lat == pytest.approx(-36.93, abs=0.01)
    assert opened.visit


def test_a_sign_in_the_body_takes_the_bots_pickup_back_until_a_person_sends(talk: Talk) -> None:
    talk.text(FULL)
    assert talk.all(OpenPickup)
    talk.text("just opened it up and the lungs are full of lumps too")
    assert talk.all(CallOff) == [CallOff("body")]
    assert "sign_in_body" in talk.reasons
    talk.feed(SendNow(talk.at, "ines"))
    assert talk.all(OpenPickup)
    talk.text("it was in the ribs as well")
    assert not talk.all(CallOff)


def test_closing_settles_everything(talk: Talk) -> None:
    talk.text(FULL)
    talk.feed(Closed(talk.at, "ines", "called_off"))
    assert talk.all(CallOff) == [CallOff("called_off")]
    assert talk.now.stage == "closed"
    assert talk.reasons == ()
