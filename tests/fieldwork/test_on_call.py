"""Two on call asked at once in the night: one gets it, the other is told kindly."""

from __future__ import annotations

from dataclasses import replace as with_head
from datetime import timedelta

import pytest
from msgspec.structs import replace

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.pickups import move
from bot.fieldwork.state import Pickup, pickup_of
from bot.messages import (
    CalledOff,
    Effect,
    FieldReply,
    OfferLapsed,
    Opened,
    PickupEvent,
    SendText,
    TellHunter,
    Unreached,
    WaitFor,
)
from bot.programme import Programme
from tests.fieldwork.rosters import DIALOG, NOON, ON_CALL, ORDER, PROGRAMME

NIGHT = NOON + timedelta(hours=11)
"""Wednesday 23:00 in Melbourne: near and far are on call, mid went off duty at 22:00."""

NAMES = {m.number: m.id for m in ON_CALL.roster}


def fed(pickup: Pickup, event: PickupEvent, on: Programme = ON_CALL):
    return move(pickup, event, Roster(on.roster), on, DIALOG)


def texts(effects: tuple[Effect, ...]) -> dict[str, str]:
    return {NAMES[e.to.number]: e.body for e in effects if isinstance(e, SendText) and e.to}


def news(effects: tuple[Effect, ...]) -> list[str]:
    return [e.news.state for e in effects if isinstance(e, TellHunter)]


def asked_at_night() -> Pickup:
    pickup, effects = fed(pickup_of("7K4T", ORDER), Opened(NIGHT))
    assert pickup.with_whom == ("near", "far")
    assert set(texts(effects)) == {"near", "far"}
    assert sum(isinstance(e, WaitFor) for e in effects) == 1
    return pickup


def test_by_day_one_is_asked() -> None:
    pickup, _ = fed(pickup_of("7K4T", ORDER), Opened(NOON))
    assert pickup.with_whom == ("near",)


def test_without_the_rule_one_is_asked() -> None:
    pickup, _ = move(
        pickup_of("7K4T", ORDER), Opened(NIGHT), Roster(ON_CALL.roster), PROGRAMME, DIALOG
    )
    assert pickup.with_whom == ("near",)


@pytest.mark.parametrize(("first", "second"), [("near", "far"), ("far", "near")])
def test_two_yeses_at_once(first: str, second: str) -> None:
    pickup, effects = fed(asked_at_night(), FieldReply(NIGHT, first, "yes", "by 1"))
    assert (pickup.state, pickup.staff_id, pickup.open_offers) == ("taken", first, ())
    assert "is yours" in texts(effects)[first]
    name = Roster(ON_CALL.roster).by_id[first].name
    assert name in texts(effects)[second]
    assert "Thanks" in texts(effects)[second]
    assert news(effects) == ["taken"]
    after, effects = fed(pickup, FieldReply(NIGHT, second, "yes"))
    assert replace(after, refused="") == replace(pickup, refused="")
    assert set(texts(effects)) == {second}
    assert f"already taken by {name}" in texts(effects)[second]
    assert news(effects) == []


def test_one_no_leaves_the_other_asked_and_the_wait_as_it_was() -> None:
    before = asked_at_night()
    pickup, effects = fed(before, FieldReply(NIGHT, "near", "no"))
    assert (pickup.state, pickup.with_whom) == ("offered", ("far",))
    assert (pickup.due, pickup.mark) == (before.due, before.mark)
    assert set(texts(effects)) == {"near"}
    pickup, effects = fed(pickup, FieldReply(NIGHT, "far", "no"))
    assert pickup.state in ("waiting", "with_coordinator")
    assert pickup.due or pickup.reviews


def test_one_offer_that_did_not_arrive_leaves_the_other_asked() -> None:
    before = asked_at_night()
    pickup, effects = fed(before, Unreached(NIGHT, "near", NIGHT))
    assert (pickup.state, pickup.with_whom, effects) == ("offered", ("far",), ())
    assert (pickup.due, pickup.mark) == (before.due, before.mark)


def test_no_answer_of_either_lapses_both() -> None:
    before = asked_at_night()
    assert before.due is not None
    pickup, _ = fed(before, OfferLapsed(before.due, before.mark))
    assert [o.answer for o in pickup.offers[:2]] == ["lapsed", "lapsed"]


def test_called_off_tells_both() -> None:
    pickup, effects = fed(asked_at_night(), CalledOff(NIGHT, "hunter"))
    assert pickup.state == "called_off"
    assert set(texts(effects)) == {"near", "far"}


def test_one_finds_it_gone_and_the_other_hears_of_it() -> None:
    pickup, effects = fed(asked_at_night(), FieldReply(NIGHT, "far", "not_there"))
    assert pickup.state == "with_coordinator"
    assert set(texts(effects)) == {"near", "far"}
    assert "coordinator" in texts(effects)["near"]


def test_two_are_not_asked_where_one_offer_is_left() -> None:
    rules = replace(ON_CALL.head.pickup, offers_before_coordinator=1)
    few = with_head(ON_CALL, head=replace(ON_CALL.head, pickup=rules))
    pickup, _ = fed(pickup_of("7K4T", ORDER), Opened(NIGHT), few)
    assert pickup.with_whom == ("near",)
