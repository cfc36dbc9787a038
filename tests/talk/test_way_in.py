"""What the hunter says to whoever comes, and what he is asked after a visit in vain."""

from __future__ import annotations

import re

import pytest

from bot.messages import AskCoordinator, OpenPickup, PickupNews, SendNow, UpdatePickup
from bot.programme import Programme
from bot.talk.dialog import Dialog
from tests.talk.conftest import Talk

SETTLED = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)
AT_A_HOUSE = SETTLED.replace("State forest", "Private, owner knows")
ROUGH = "shot a boar Sat 6pm within 5 km of Brindle Hut"
STATES = ("nobody_home", "no_access", "not_there", "wrong_head")


def news(talk: Talk, state: str) -> str:
    return talk.feed(PickupNews(talk.at, state, "Nell Abbery", "+61491570156"))


def told(talk: Talk) -> list[str]:
    return [e.access for e in talk.all(UpdatePickup)]


def test_gate_and_dogs_are_asked_about_at_a_house_and_not_in_a_forest(talk: Talk) -> None:
    assert "[access.ask]" not in talk.text(SETTLED)
    other = Talk(talk.dialog, talk.programme)
    assert "[access.ask]" in other.text(AT_A_HOUSE)


@pytest.mark.parametrize(
    ("words", "access"),
    [
        ("side gate code 4412; dogs tied up", "side gate code 4412, dogs tied up"),
        ("any time after 5 tomorrow", "any time after 5 tomorrow"),
        ("ask for my neighbour on Kerrin Flat", "ask for my neighbour on Kerrin Flat"),
    ],
)
def test_the_answer_is_passed_on_as_it_stands(words: str, access: str, talk: Talk) -> None:
    talk.text(AT_A_HOUSE)
    before = talk.now.answers["head_at"]
    assert "[way_in_noted] [all_done]" in talk.text(words)
    assert told(talk) == [access]
    assert talk.now.answers["head_at"] == before, "a place in it is not where the head is"
    assert talk.reasons == ()


@pytest.mark.parametrize("words", ["no", "thanks", "nope", "skip"])
def test_nothing_to_say_is_an_answer(words: str, talk: Talk) -> None:
    talk.text(AT_A_HOUSE)
    assert "[all_done]" in talk.text(words)
    assert "".join(told(talk)) == ""


def test_a_gate_named_in_the_first_text_goes_with_the_order(talk: Talk) -> None:
    talk.text(f"{AT_A_HOUSE}. Gate is locked, code 88")
    [order] = talk.all(OpenPickup)
    assert order.access == "Gate is locked, code 88"


@pytest.mark.parametrize("state", STATES)
def test_a_visit_in_vain_asks_its_own_question_once(state: str, talk: Talk) -> None:
    talk.text(SETTLED)
    said = news(talk, state)
    assert said == f"[news_{state}] [{state}.ask]"
    assert talk.waits, "a silence must come back"
    said = talk.text("blue bag in the bottom drawer, sorry about that")
    assert "[way_in_noted]" in said
    assert told(talk) == ["blue bag in the bottom drawer, sorry about that"]
    assert f"[{state}" not in said


@pytest.mark.parametrize("state", STATES)
def test_a_second_visit_in_vain_asks_anew_in_other_words(state: str, talk: Talk) -> None:
    talk.text(SETTLED)
    news(talk, state)
    talk.text("back by six")
    talk.feed(PickupNews(talk.at, "taken", "Nell Abbery", "+61491570156"))
    assert f"[{state}.again]" in news(talk, state)


def test_the_head_is_somewhere_else(talk: Talk) -> None:
    talk.text(SETTLED)
    news(talk, "not_there")
    talk.text("my brother moved it to Kerrin Flat")
    [update] = talk.all(UpdatePickup)
    assert (update.lat, update.lon) == pytest.approx((-36.746, 146.985), abs=0.001)


def test_the_head_is_gone_for_good(talk: Talk) -> None:
    talk.text(SETTLED)
    news(talk, "not_there")
    talk.text("ah mate it got binned")
    assert "head_gone" in talk.reasons


def test_silence_is_reminded_once_and_then_a_persons(talk: Talk) -> None:
    talk.text(SETTLED)
    news(talk, "nobody_home")
    assert talk.silence() == "[nobody_home.remind]"
    talk.silence(21)
    assert "no_answer" in talk.reasons


def test_whoever_wants_no_texts_is_asked_by_a_person(talk: Talk) -> None:
    talk.text(SETTLED)
    talk.text("stop")
    assert news(talk, "no_access") == ""
    assert talk.all(AskCoordinator) == [AskCoordinator("no_access")]


def test_an_answer_to_the_way_in_says_nothing_of_the_land(talk: Talk) -> None:
    talk.text(SETTLED)
    before = talk.now.answers["land"]
    news(talk, "no_access")
    talk.text("private road, ring my mate on 0491 570 006")
    assert talk.now.answers["land"] == before
    [update] = talk.all(UpdatePickup)
    assert update.contact == "0491 570 006"


def test_a_rough_place_is_read_back_as_rough(real_dialog: Dialog, programme: Programme) -> None:
    said = Talk(real_dialog, programme).text(f"{ROUGH}, pus in the jaw gland")
    assert "within 5 km of Brindle Hut" in said
    assert "at Brindle Hut" not in said


def test_where_the_law_detains_it_every_word_is_of_a_visit(
    real_dialog: Dialog, detaining: Programme
) -> None:
    talk = Talk(real_dialog, detaining)
    talk.text(f"{ROUGH}, pus in the jaw gland")
    talk.feed(SendNow(talk.at, "Ines"))
    said = [
        talk.feed(PickupNews(talk.at, state, "Nell Abbery", "+61491570156", words))
        for state, words in (
            *(("waiting", "07:00"), ("taken", "by 4"), ("given_back", "")),
            *(("with_coordinator", ""), ("nobody_home", ""), ("collected", "")),
        )
    ]
    said += [talk.text("any news?")]
    assert all(said)
    for words in said:
        assert not {"fetch", "cold", "bag", "picked"} & set(re.findall(r"[a-z]+", words.lower())), (
            words
        )


def test_a_wish_is_no_answer(talk: Talk) -> None:
    talk.text(SETTLED)
    news(talk, "nobody_home")
    talk.text("can someone ring me please")
    assert "asked_for_person" in talk.reasons
    assert "nobody_home" not in talk.now.answers
