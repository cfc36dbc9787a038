"""Typed in, joined, split: pure moves that only add, and the laws that they keep."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest
from msgspec.structs import replace

from bot.messages import (
    Brought,
    CallOff,
    Entered,
    Event,
    Joined,
    KeepFind,
    OpenPickup,
    SendText,
    SettleReview,
    SplitOff,
    Text,
)
from bot.reading.values import Animal, Place
from bot.talk.conversation import step
from bot.talk.sorting import OWN, CannotSort, carried
from bot.talk.state import Conversation, PickupView, dump, load
from tests.talk.conftest import START

RICH = (
    "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday, "
    "head is at Brindle Hut in the freezer, double bagged"
)
LATER = START + timedelta(hours=1)


@pytest.fixture
def play(dialog, programme):
    def play(talk: Conversation, *events: Event):
        effects = ()
        for event in events:
            talk, effects = step(talk, event, dialog, programme)
        return talk, effects

    return play


@pytest.fixture
def rich(play):
    return play(Conversation("K7R4TX", START), Text(RICH, START, START))[0]


def kinds(effects):
    return [type(effect) for effect in effects]


@pytest.mark.parametrize("texts", [True, False])
def test_what_was_typed_in_is_asked_on_by_the_bot_only_if_it_may_text(play, texts):
    talk, _ = play(
        Conversation("K7R4TX", START),
        Text("lump in the jaw of a boar", START, START),
    )
    assert talk.asked is not None
    talk, effects = play(talk, Entered(START, "ines", "telephone", texts))
    assert effects == ()
    assert talk.with_person is not texts
    assert (talk.asked is not None) is texts


def test_a_joined_talk_ends_and_its_find_counts_as_none(play, rich):
    assert rich.pickup is not None
    talk, effects = play(rich, Joined(LATER, "ines", "C2F3YW"))
    assert (talk.stage, talk.asked, talk.kept) == ("closed", None, "no_find")
    assert CallOff in kinds(effects)
    assert KeepFind("no_find") in effects
    assert SendText not in kinds(effects)
    assert talk.answers == rich.answers


@pytest.mark.parametrize("state", ["collected", "handed_in"])
def test_a_head_that_is_on_the_way_is_not_joined_away(play, rich, state):
    talk = replace(rich, pickup=PickupView(state))
    with pytest.raises(CannotSort, match="already"):
        play(talk, Joined(LATER, "ines", "C2F3YW"))


def test_joined_answers_fill_gaps_and_never_overwrite(play, rich):
    poor, _ = play(
        Conversation("C2F3YW", START),
        Text("lump in the jaw of a sow near Tallow Saddle", START, START),
    )
    before = dict(poor.answers)
    assert "when" not in before
    brought = Brought(LATER, "ines", rich.code, "joined", carried(rich, rich.answers))
    talk, _ = play(poor, brought)
    assert {key: talk.answers[key] for key in before} == before
    assert talk.answers["when"] == rich.answers["when"]


def test_what_joining_fills_may_open_the_pickup(play, rich):
    poor, _ = play(
        Conversation("C2F3YW", START),
        Text("lump in the jaw of a boar", START, START),
    )
    assert poor.pickup is None
    brought = Brought(LATER, "ines", rich.code, "joined", carried(rich, rich.answers))
    talk, effects = play(poor, brought)
    assert OpenPickup in kinds(effects)
    assert talk.pickup is not None


def test_a_second_animal_begins_with_what_both_share_and_its_own_advice(play, rich):
    keys = set(rich.answers) - OWN
    first, _ = play(rich, SplitOff(LATER, "ines", "C2F3YW"))
    brought = Brought(
        LATER, "ines", rich.code, "split", carried(first, keys), "sow, lump in the jaw node"
    )
    second, effects = play(Conversation("C2F3YW", LATER), brought)
    assert second.with_person
    assert second.asked is None
    assert second.answers["species"].value == Animal("pig", "sow")
    assert second.answers["species"].by == "coordinator:ines"
    assert second.answers["kill_place"] == rich.answers["kill_place"]
    assert isinstance(second.answers["kill_place"].value, Place)
    assert second.kind == "head"
    assert [e.kind for e in effects if isinstance(e, SendText)] == ["advice"]
    assert second.pickup is not None


def test_splitting_settles_what_asked_for_it(play, rich):
    asked = replace(
        rich, reviews=("several_animals", "outside_area"), candidates=(Place(1, 2, 3, "x"),)
    )
    talk, effects = play(asked, SplitOff(LATER, "ines", "C2F3YW"))
    assert talk.reviews == ("outside_area",)
    assert talk.candidates == ()
    assert effects == (SettleReview(("several_animals",)),)
    assert talk.answers == rich.answers


def test_a_second_animal_that_nobody_can_read_is_refused(play):
    with pytest.raises(CannotSort, match="cannot read"):
        play(
            Conversation("C2F3YW", LATER),
            Brought(LATER, "ines", "K7R4TX", "split", {}, "qwertz"),
        )


def test_declined_answers_stay_behind(play, rich):
    declined = {k: replace(a, declined=True) for k, a in rich.answers.items()}
    assert carried(replace(rich, answers=declined), declined) == {}


def test_the_events_and_states_go_through_storage_unchanged(play, rich):
    events = (
        Entered(LATER, "ines", "crate"),
        Joined(LATER, "ines", "C2F3YW"),
        SplitOff(LATER, "ines", "C2F3YW"),
        Brought(LATER, "ines", "K7R4TX", "split", carried(rich, rich.answers), "sow"),
    )
    for event in events:
        assert msgspec.json.decode(msgspec.json.encode(event), type=Event) == event
    talk, _ = play(rich, events[0])
    assert load(dump(talk)) == talk
