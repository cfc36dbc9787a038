"""What staff text about a head, and what it adds to the trail."""

from __future__ import annotations

from datetime import timedelta

import pytest
from msgspec.structs import replace

from bot.fieldwork.custody import DEPOT, HANDED_IN, HUNTER, LABORATORY, Made
from bot.fieldwork.handovers import (
    Stored,
    container_number,
    custody_of,
    hand_in_places,
)
from bot.fieldwork.pickups import move, pickup_of
from bot.fieldwork.specimens import told
from bot.messages import BroughtIn, FieldReply, Opened
from tests.fieldwork.rosters import DIALOG, NOON, ORDER, PROGRAMME, ROSTER

CODE = "K7R-4TR"
DEPOTS = [("Kerrin Flat Depot", ("the depot", "Kerrin")), ("Sandy Depot", ("sandy",))]
PLACES = hand_in_places(DEPOTS, ("lab", "laboratory", "labo"), visits=False)
VISITS = hand_in_places(DEPOTS, ("lab",), visits=True)
COLD = Stored("frozen", NOON - timedelta(hours=3))


def play(*answers: tuple[str, str, str], places=PLACES):
    """The trail after these answers (staff, answer, words), told through the pickup itself."""
    pickup, _ = move(pickup_of(CODE, ORDER), Opened(NOON), ROSTER, PROGRAMME, DIALOG)
    events = []
    for minute, (staff, answer, heard) in enumerate(answers, 1):
        event = FieldReply(NOON + timedelta(minutes=minute), staff, answer, heard=heard)
        before = pickup
        pickup, _ = move(before, event, ROSTER, PROGRAMME, DIALOG)
        events += custody_of(before, event, pickup, COLD, places)
    return told(CODE, tuple(events))


def test_collected_and_handed_in_is_a_whole_road() -> None:
    trail = play(("near", "yes", ""), ("near", "collected", "got it"), ("near", "handed_in", ""))
    assert [(e.giver, e.receiver) for e in trail.events] == [(HUNTER, "near"), ("near", HANDED_IN)]
    assert trail.findings == ()
    assert (trail.specimens[0].state, trail.specimens[0].cold_since) == ("frozen", COLD.cold_since)


@pytest.mark.parametrize(("place", "heard", "receiver"), [
    ("Kerrin Flat Depot", "left it there", f"{DEPOT}Kerrin Flat Depot"),
    ("", "left it at the sandy depot", f"{DEPOT}Sandy Depot"),
    ("", "dropped it at the lab", LABORATORY),
    ("", "handed in", HANDED_IN),
])  # fmt: skip
def test_what_the_hunter_brings_begins_with_his_own_word(place, heard, receiver) -> None:
    pickup, _ = move(pickup_of(CODE, ORDER), Opened(NOON), ROSTER, PROGRAMME, DIALOG)
    event = BroughtIn(NOON, heard, place)
    after, _ = move(pickup, event, ROSTER, PROGRAMME, DIALOG)
    events = custody_of(pickup, event, after, COLD, PLACES)
    trail = told(CODE, events)
    assert [(e.by, e.giver, e.receiver) for e in trail.events] == [("hunter", HUNTER, receiver)]
    assert trail.findings == ()
    assert custody_of(after, event, after, COLD, PLACES) == (), "said twice it is one"


def test_handed_in_by_somebody_who_never_said_that_he_had_it_is_a_gap() -> None:
    trail = play(("near", "yes", ""), ("near", "handed_in", "handed in"))
    assert [f.reason for f in trail.findings] == ["custody_gap"]


def test_a_second_who_says_that_he_has_it_is_kept_and_shown() -> None:
    trail = play(("near", "yes", ""), ("near", "collected", ""), ("mid", "collected", "i have it"))
    assert trail.specimens[0].holders == ("near", "mid")
    assert [f.reason for f in trail.findings] == ["custody_two_hold"]


@pytest.mark.parametrize("answers", [
    [("near", "yes", "")],
    [("near", "no", "")],
    [("near", "yes", ""), ("near", "not_there", "nobody home")],
    [("near", "yes", ""), ("mid", "yes", "")],
])  # fmt: skip
def test_other_answers_move_no_head(answers) -> None:
    assert play(*answers).events == ()


def test_said_twice_it_is_one_hand_over() -> None:
    got = ("near", "collected", "got it")
    assert len(play(("near", "yes", ""), got, got).events) == 1


def test_of_a_visit_only_the_samples_are_handed_in() -> None:
    visit = play(("near", "yes", ""), ("near", "collected", "done"), places=VISITS)
    assert visit.events == ()
    samples = ("near", "handed_in", "handed in at the lab")
    trail = play(("near", "yes", ""), ("near", "collected", "done"), samples, places=VISITS)
    made, brought = trail.events
    assert isinstance(made, Made)
    assert (made.part, brought.receiver, trail.findings) == ("tissue", LABORATORY, ())


@pytest.mark.parametrize(("heard", "holder"), [
    ("handed in", HANDED_IN),
    ("handed in K7R-4TR at the depot", DEPOT + "Kerrin Flat Depot"),
    ("left it at Kerrin", DEPOT + "Kerrin Flat Depot"),
    ("dropped at SANDY, 3pm", DEPOT + "Sandy Depot"),
    ("at the lab", LABORATORY),
    ("remis au labo", LABORATORY),
    ("collaborated", HANDED_IN),
    ("from sandy to kerrin", HANDED_IN),
    ("sandy depot rang the lab", HANDED_IN),
])  # fmt: skip
def test_where_it_was_handed_in_is_told_only_where_one_place_is_meant(heard, holder) -> None:
    assert PLACES.holder(heard) == holder


@pytest.mark.parametrize(("heard", "number"), [
    ("handed in K7R-4TR 2 at depot", 2),
    ("handed in k7r4tr/3", 3),
    ("k7r 4tr 1", 1),
    ("K7R-4TR 4pm", 0),
    ("K7R-4TR 4 pm", 0),
    ("K7R-4TR 4:30", 0),
    ("K7R-4TR 12 km off", 0),
    ("K7R-4TR", 0),
    ("2 of them", 0),
])  # fmt: skip
def test_a_container_is_named_behind_the_code(heard, number) -> None:
    assert container_number(heard, CODE) == number


def test_one_container_is_handed_in_alone() -> None:
    trail = play(("near", "yes", ""), ("near", "collected", ""))
    made = [Made(NOON + timedelta(hours=1), "near", f"{CODE}/{n}", "nodes") for n in (1, 2)]
    before, _ = move(pickup_of(CODE, ORDER), Opened(NOON), ROSTER, PROGRAMME, DIALOG)
    after = replace(before, state="handed_in", staff_id="near")
    late = FieldReply(NOON + timedelta(hours=2), "near", "handed_in", heard=f"handed in {CODE} 2")
    more = custody_of(before, late, after, Stored(), PLACES)
    whole = told(CODE, (*trail.events, *made, *more))
    assert [s.holder for s in whole.specimens] == ["near", "near", HANDED_IN]
    assert whole.findings == ()
