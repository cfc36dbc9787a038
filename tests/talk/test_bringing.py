"""The hunter brings the head himself; the whole carcase; what the air does to the clock.

Who may bring what follows the rule that a carcase under detention is not moved (Scotland:
SSI 2015/327 art. 5; England: SI 2021/1001 art. 6).
"""

from __future__ import annotations

import pytest

from bot.messages import CallOff, OpenPickup, TakeIn, UpdatePickup
from bot.programme import Programme, load_programme
from bot.reading.values import Place
from bot.talk.dialog import Dialog
from tests.talk.conftest import Talk

SETTLED = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)
HEAD = "got a boar with pus in the jaw gland, shot today 6am at Brindle Creek"


def several(
    programme: Programme, marks: str = "Mere Depot,-37.0,147.3,,depot,Mon only\n"
) -> Programme:
    files = dict(programme.files)
    return load_programme(files | {"landmarks.csv": files["landmarks.csv"] + marks})


@pytest.mark.parametrize(
    "words",
    [
        "I'll drop it at Kerrin Flat Depot myself",
        "can I take the head to the depot instead?",
        "happy to bring it in to the depot this arvo",
        "I'll run it down to the Kerrin Flat depot tomorrow",
    ],
)
def test_staff_are_stood_down_and_the_depot_is_told(words: str, talk: Talk) -> None:
    talk.text(SETTLED)
    before = talk.now.answers
    said = talk.text(words)
    assert said == "[bring] [hand_in.ask]"
    assert talk.all(CallOff) == [CallOff("hand_in")]
    for key in ("head_at", "kill_place", "when"):
        assert talk.now.answers[key] == before[key], "a depot is no place of the find"
    assert talk.now.pickup
    assert talk.now.pickup.state == "brings"


@pytest.mark.parametrize(
    "words", ["left it at the depot", "LEFT", "yes", "dropped it off at the depot"]
)
def test_once_it_is_there_the_trail_begins(words: str, talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text("I'll drop it at the depot")
    assert "[brought]" in talk.text(words)
    [taken] = talk.all(TakeIn)
    assert taken.place == "Kerrin Flat Depot"
    assert talk.now.pickup
    assert talk.now.pickup.state == "handed_in"


def test_left_there_before_anybody_was_asked(talk: Talk) -> None:
    said = talk.text(f"{HEAD}. left the head at Kerrin Flat Depot already")
    assert said.startswith("[kind.head]")
    assert "[brought]" in said
    assert not talk.all(OpenPickup), "nobody is sent for what has been brought"
    [taken] = talk.all(TakeIn)
    assert taken.order.lat == pytest.approx(-36.7492)
    kill = talk.now.answers["kill_place"].value
    assert isinstance(kill, Place)
    assert kill.landmark == "Brindle Creek"


def test_a_silence_after_that_asks_whether_it_got_there(talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text("I'll drop it at the depot")
    [wait] = talk.waits
    assert (wait.due - talk.at).total_seconds() >= talk.programme.head.patience.hand_in * 60
    assert talk.silence(48) == "[hand_in.remind]"


def test_left_is_heard_before_the_label_is_asked_about(talk: Talk) -> None:
    talk.text(f"{HEAD}. head's at Brindle Hut")
    assert "[hand_in.ask]" in talk.text("I'll drop it at the depot")
    said = talk.text("left")
    assert "[brought]" in said
    assert "[storage.ask]" in said


def test_it_cannot_be_brought_after_all(talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text("I'll drop it at the depot")
    said = talk.text("actually can't bring it in, please fetch it")
    assert said == "[status_offered]"
    assert talk.all(OpenPickup)


def test_fetched_after_all(talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text("I'll drop it at the depot")
    assert "[status_offered]" in talk.text("fetch")
    [order] = talk.all(OpenPickup)
    assert order.lat == pytest.approx(-36.87)


def test_which_of_several_depots_is_asked(dialog: Dialog, programme: Programme) -> None:
    talk = Talk(dialog, several(programme))
    talk.text(SETTLED)
    assert talk.text("I'll bring it in to a depot myself") == "[depot.offer]"
    assert not talk.all(CallOff)
    assert "[bring]" in talk.text("2")
    assert talk.now.pickup
    assert talk.now.pickup.words == "Mere Depot"


@pytest.mark.parametrize(
    "words",
    [
        "I'll take it home tonight",
        "my lab took it, little bugger",
        "took him to the vet, black lab ate some",
        "shot myself a boar, I'll take it to Brindle Hut",
        "left it at the hut",
    ],
)
def test_what_is_no_depot(words: str, talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text(words)
    assert not talk.all(CallOff)
    assert not talk.all(TakeIn)


@pytest.mark.parametrize(
    "words", ["dropped it off at the lab", "took the head in to the laboratory"]
)
def test_left_at_the_laboratory(words: str, talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text(words)
    assert [t.heard for t in talk.all(TakeIn)] == [words]


@pytest.mark.parametrize(
    "sign",
    [
        "boar with lumps on the lungs",
        "found a dead boar, blood at the nose",
        "boar with blisters on the mouth",
    ],
)
def test_what_must_lie_is_not_brought(sign: str, talk: Talk) -> None:
    said = talk.text(f"{sign} at Brindle Creek today. I'll drop it at the depot myself")
    assert "[bring_not]" in said
    assert "[bring]" not in said
    assert "hunter_brings" in talk.reasons
    assert not talk.all(TakeIn)
    assert not talk.all(OpenPickup)


def test_where_the_law_detains_it_nothing_is_brought(dialog: Dialog, detaining: Programme) -> None:
    talk = Talk(dialog, detaining)
    talk.text(HEAD)
    assert "[bring_not]" in talk.text("I'll drop the head at the depot")
    assert "hunter_brings" in talk.reasons


# ------------------------------------------------------------------------------ whole carcase

WHOLE = "can you take the whole pig?"


def test_a_whole_carcase_is_a_job_of_its_own_where_it_lies(talk: Talk) -> None:
    said = talk.text(f"{HEAD}. {WHOLE}")
    assert "[carcase_taken]" in said
    [order] = talk.all(OpenPickup)
    assert order.whole_carcase
    assert "[head_at.ask]" not in said, "it lies where it fell"


def test_a_head_that_is_under_way_already_is_a_persons_to_change(talk: Talk) -> None:
    talk.text(SETTLED)
    assert "[carcase_person]" in talk.text(WHOLE)
    assert talk.reasons == ("whole_carcase",)
    assert not talk.all(OpenPickup)


def test_a_sign_in_the_body_opens_nothing_by_itself(talk: Talk) -> None:
    said = talk.text(f"boar with lumps on the lungs at Brindle Creek. {WHOLE}")
    assert "[carcase_person]" in said
    assert "whole_carcase" in talk.reasons
    assert not talk.all(OpenPickup)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("carcase_may_move = true", "carcase_may_move = false"),
        ("120,mon-sun,05:00-22:00,yes", "120,mon-sun,05:00-22:00,"),
    ],
)
def test_it_is_promised_to_nobody_who_cannot_have_it(
    old: str, new: str, dialog: Dialog, programme: Programme
) -> None:
    files = {name: text.replace(old, new) for name, text in programme.files.items()}
    assert files != programme.files
    talk = Talk(dialog, load_programme(files))
    said = talk.text(f"{HEAD}. {WHOLE}")
    assert "[carcase_not]" in said
    assert "[carcase_taken]" not in said
    assert "carcase" not in talk.now.answers


def test_where_the_law_detains_it_nobody_takes_it(dialog: Dialog, detaining: Programme) -> None:
    talk = Talk(dialog, detaining)
    said = talk.text(f"{HEAD}. {WHOLE}")
    assert "[kind.head_detained]" in said
    assert "[carcase_detained]" in said
    assert not talk.all(OpenPickup)


# --------------------------------------------------------------------------------------- air


def test_the_air_goes_with_the_order(talk: Talk) -> None:
    talk.text(f"{HEAD}. Its 31C here. head's at Brindle Hut")
    [order] = talk.all(OpenPickup)
    assert [(s.kept, s.air_c) for s in order.stages] == [("warm", 31.0)]


def test_said_later_it_reaches_the_open_pickup(talk: Talk) -> None:
    talk.text(f"{HEAD}. head's at Brindle Hut")
    talk.text("28 degrees here")
    [update] = talk.all(UpdatePickup)
    assert update.stages[0].air_c == 28.0
