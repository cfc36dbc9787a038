"""By when a head is best at the laboratory: in the offer, kept true, else silent."""

from __future__ import annotations

from datetime import timedelta

import pytest
from msgspec.structs import replace

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.pickups import move
from bot.fieldwork.state import Pickup, pickup_of
from bot.messages import Effect, Opened, PickupChanged, PickupEvent, SendText, Stage
from bot.programme import Programme
from bot.talk.segments import segments_of
from tests.fieldwork.rosters import DIALOG, NOON, ORDER, programme

HOUR = timedelta(hours=1)
TIMED = programme(rules="[spoiling]\n")
WARM = replace(ORDER, stages=(Stage("warm", NOON - 6 * HOUR),))


def fed(pickup: Pickup, event: PickupEvent, on: Programme) -> tuple[Pickup, list[str]]:
    after, effects = move(pickup, event, Roster(on.roster), on, DIALOG)
    return after, bodies(effects)


def bodies(effects: tuple[Effect, ...]) -> list[str]:
    return [e.body for e in effects if isinstance(e, SendText)]


def test_the_offer_says_by_when() -> None:
    """Warm since 06:00 on the 25th of November, 48 hours."""
    pickup, (offer,) = fed(pickup_of("7K4T", WARM), Opened(NOON), TIMED)
    assert pickup.best_by == NOON + 42 * HOUR
    assert offer.endswith(" Best at the laboratory by 27/11 06:00.")
    assert segments_of(offer) <= 2


def test_without_the_clock_nothing_is_said() -> None:
    pickup, (offer,) = fed(pickup_of("7K4T", WARM), Opened(NOON), programme())
    assert pickup.best_by is None
    assert "Best" not in offer


def test_a_frozen_head_has_no_time() -> None:
    frozen = replace(ORDER, stages=(Stage("frozen", NOON),))
    pickup, (offer,) = fed(pickup_of("7K4T", frozen), Opened(NOON), TIMED)
    assert pickup.best_by is None
    assert "Best" not in offer


@pytest.mark.parametrize("place", ["a freezer at the old woolshed " * 9, "hut"])
def test_a_long_text_keeps_the_time(place: str) -> None:
    order = replace(WARM, place_words=place, details="feral pig, lump, " * 9)
    _, (offer,) = fed(pickup_of("7K4T", order), Opened(NOON), TIMED)
    assert segments_of(offer) <= 2
    assert "by 27/11 06:00." in offer


def test_put_on_ice_moves_the_time_and_tells_nobody() -> None:
    before, _ = fed(pickup_of("7K4T", WARM), Opened(NOON), TIMED)
    stages = (*before.stages, Stage("chilled", NOON))
    change = PickupChanged(NOON, before.place_words, before.lat, before.lon, before.details, stages)
    after, texts = fed(before, change, TIMED)
    assert after.refused == ""
    assert texts == []
    assert after.best_by == NOON + 0.875 * 168 * HOUR


def test_a_visit_is_told_as_a_visit() -> None:
    on = programme(head_may_move=False, rules="[spoiling]\n")
    _, (offer,) = fed(pickup_of("7K4T", WARM), Opened(NOON), on)
    assert "Best visited by 27/11 06:00." in offer
    assert "laboratory" not in offer
