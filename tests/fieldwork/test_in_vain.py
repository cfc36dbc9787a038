"""A visit in vain: what each kind does to the pickup, who is told what, and who must decide.

What follows from which is common practice, no source: a gate is asked about once, a head that is
gone is a person's to find.
"""

from __future__ import annotations

import pytest

from bot.fieldwork.in_vain import came_in_vain
from bot.fieldwork.pickups import TABLE, Pickup, move
from bot.fieldwork.state import pickup_of
from bot.messages import (
    AskCoordinator,
    BroughtIn,
    CalledOff,
    Effect,
    FieldReply,
    Opened,
    PickupChanged,
    PickupEvent,
    SendText,
    TellHunter,
    WaitFor,
)
from tests.fieldwork.rosters import DIALOG, NOON, ORDER, PROGRAMME, ROSTER


def after(*events: PickupEvent) -> tuple[Pickup, tuple[Effect, ...]]:
    pickup, effects = pickup_of("7K4T", ORDER), ()
    for event in (Opened(NOON), *events):
        pickup, effects = move(pickup, event, ROSTER, PROGRAMME, DIALOG)
    return pickup, effects


def says(answer: str, words: str = "") -> FieldReply:
    return FieldReply(NOON, "near", answer, words)  # type: ignore[arg-type]


def texts(effects: tuple[Effect, ...]) -> str:
    return " ".join(e.body for e in effects if isinstance(e, SendText))


@pytest.mark.parametrize("answer", ["nobody_home", "no_access"])
def test_once_it_stays_with_whoever_went_and_the_hunter_is_asked(answer: str) -> None:
    pickup, effects = after(says("yes"), says(answer, "gate locked"))
    assert (pickup.state, pickup.staff_id, pickup.in_vain) == ("taken", "near", 1)
    assert [e.news.state for e in effects if isinstance(e, TellHunter)] == [answer]
    assert not [e for e in effects if isinstance(e, AskCoordinator)]
    assert [e for e in effects if isinstance(e, WaitFor)], "or nobody would ever look again"
    assert "7K4T stays yours" in texts(effects)


@pytest.mark.parametrize("answer", ["nobody_home", "no_access"])
def test_twice_it_is_the_coordinators(answer: str) -> None:
    pickup, effects = after(says("yes"), says("no_access"), says(answer, "again"))
    assert (pickup.state, pickup.staff_id) == ("with_coordinator", "")
    assert [e for e in effects if isinstance(e, AskCoordinator)] == [
        AskCoordinator(answer, "again")
    ]
    assert pickup.offers[-1].answer == answer


@pytest.mark.parametrize("answer", ["not_there", "wrong_head"])
def test_a_head_that_is_not_there_is_the_coordinators_at_once(answer: str) -> None:
    pickup, effects = after(says("yes"), says(answer, "a goat"))
    assert (pickup.state, pickup.reviews) == ("with_coordinator", (answer,))
    assert [e.news.state for e in effects if isinstance(e, TellHunter)] == [answer]


def test_a_shut_laboratory_is_no_empty_house() -> None:
    pickup, effects = after(says("yes"), says("collected"), says("no_access", "lab is shut"))
    assert (pickup.state, pickup.staff_id) == ("collected", "near")
    assert AskCoordinator("cannot_hand_in", "lab is shut") in effects


def test_another_head_noticed_late_stays_with_its_holder_and_a_person_looks() -> None:
    pickup, effects = after(says("yes"), says("collected"), says("wrong_head", "not ours"))
    assert (pickup.state, pickup.staff_id) == ("collected", "near")
    assert AskCoordinator("wrong_head", "not ours") in effects


def test_whoever_went_hears_what_the_hunter_says_of_the_way_in() -> None:
    told = PickupChanged(
        NOON,
        ORDER.place_words,
        ORDER.lat,
        ORDER.lon,
        access="key under the mat",
        contact="0491 570 006",
    )
    pickup, effects = after(says("yes"), says("nobody_home"), told)
    assert texts(effects) == (
        "The hunter says for 7K4T: 'key under the mat'. Contact 0491 570 006."
    )
    assert (pickup.access, pickup.contact) == ("key under the mat", "0491 570 006")


def test_only_who_holds_or_is_offered_it_comes_in_vain() -> None:
    states = {state for state, row in TABLE.items() for s in row.values() if s.do is came_in_vain}
    assert states == {"offered", "taken"}


def test_a_hunter_who_takes_it_to_a_depot_is_no_called_off_job_without_a_word() -> None:
    pickup, effects = after(says("yes"), CalledOff(NOON, "hunter", "hand_in"))
    assert pickup.state == "called_off"
    assert "takes it to a depot himself" in texts(effects)
    pickup, effects = move(
        pickup, BroughtIn(NOON, "left it at the depot"), ROSTER, PROGRAMME, DIALOG
    )
    assert (pickup.state, pickup.staff_id, effects) == ("handed_in", "hunter", ())


def test_what_somebody_has_fetched_is_not_handed_in_by_a_text() -> None:
    pickup, effects = after(says("yes"), says("collected"), BroughtIn(NOON, "left it there"))
    assert (pickup.state, pickup.staff_id) == ("collected", "near")
    assert AskCoordinator("two_hold_it", "left it there") in effects
