"""Texts leave in order, once, after the commit; what cannot be sent comes to a person."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from bot.service import tables as t
from bot.service.intake import Intake
from bot.service.outbox import LEASE, MOST_TRIES, Tally, backoff, claim, deliver
from tests.service.fakes import (
    HOUR,
    HUNTER,
    MATE,
    NOON,
    FakeGateway,
    column,
    heard,
    refusing,
    rows,
)


def send_all(intake: Intake, gateway: FakeGateway, now=NOON) -> int:
    """Deliver until nothing more goes out; how many went."""
    gone = 0
    while sent := deliver(intake.database, {"paddock": gateway}, now).sent:
        gone += sent
    return gone


def test_texts_go_out_in_order_and_are_marked(intake: Intake, gateway: FakeGateway) -> None:
    for n in range(3):
        intake.hear(heard(f"part {n}", str(n)), NOON)
    assert send_all(intake, gateway) == 3
    assert gateway.sent == [(HUNTER, f"noted part {n}") for n in range(3)]
    marked = rows(intake.database, t.TextOut.id, t.TextOut.state, t.TextOut.carrier_id)
    assert marked == [(n, "sent", f"carrier-out-{n}") for n in (1, 2, 3)]


def test_only_a_recipients_oldest_is_claimed(intake: Intake) -> None:
    for n, who in enumerate([HUNTER, HUNTER, MATE, MATE]):
        intake.hear(heard(f"part {n}", str(n), who), NOON)
    assert [c.id for c in claim(intake.database, NOON, 10)] == [1, 3]
    assert claim(intake.database, NOON, 10) == ()


def test_a_text_that_must_wait_holds_back_the_next_one(
    intake: Intake, gateway: FakeGateway
) -> None:
    for n in range(2):
        intake.hear(heard(f"part {n}", str(n)), NOON)
    gateway.refuse = refusing("http_503", retry=True)
    assert deliver(intake.database, {"paddock": gateway}, NOON) == Tally(waiting=1)
    gateway.refuse = lambda body: None
    assert send_all(intake, gateway) == 0
    assert send_all(intake, gateway, NOON + HOUR) == 2
    assert [body for _, body in gateway.sent] == ["noted part 0", "noted part 1"]


def test_a_crash_after_the_claim_sends_again_only_after_the_lease(
    intake: Intake, gateway: FakeGateway
) -> None:
    intake.hear(heard("one"), NOON)
    assert len(claim(intake.database, NOON, 10)) == 1
    assert send_all(intake, gateway, NOON + LEASE - timedelta(seconds=1)) == 0
    assert send_all(intake, gateway, NOON + LEASE) == 1


def test_a_gateway_gets_the_same_key_for_the_same_text(
    intake: Intake, gateway: FakeGateway
) -> None:
    """A worker that dies between hand-over and mark hands the text over again."""
    intake.hear(heard("one"), NOON)

    def die(body: str) -> None:
        gateway.keys.append("out-1")
        raise KeyboardInterrupt

    gateway.refuse = die
    with pytest.raises(KeyboardInterrupt):
        deliver(intake.database, {"paddock": gateway}, NOON)
    gateway.refuse = lambda body: None
    assert send_all(intake, gateway, NOON + LEASE) == 1
    assert gateway.keys == ["out-1", "out-1"]


def test_six_workers_send_each_text_once(intake: Intake, gateway: FakeGateway) -> None:
    for n in range(24):
        intake.hear(heard("x", str(n), f"+614915710{n:02}"), NOON)
    with ThreadPoolExecutor(6) as pool:
        gone = sum(pool.map(lambda _: send_all(intake, gateway), range(6)))
    assert gone == 24
    assert sorted(gateway.keys) == sorted(f"out-{n}" for n in range(1, 25))


def test_who_cannot_be_reached_comes_to_a_person(intake: Intake, gateway: FakeGateway) -> None:
    intake.hear(heard("one"), NOON)
    gateway.refuse = refusing("no_such_number", retry=False)
    assert deliver(intake.database, {"paddock": gateway}, NOON) == Tally(failed=1)
    assert rows(intake.database, t.Review.reason, t.Review.heard) == [
        ("undelivered", "no_such_number: noted one")
    ]
    assert rows(intake.database, t.TextOut.state, t.TextOut.error) == [("failed", "no_such_number")]


@pytest.mark.parametrize("broken", [refusing("timeout", retry=True), lambda body: 1 / 0])
def test_it_gives_up_after_so_many_tries(intake: Intake, gateway: FakeGateway, broken) -> None:
    intake.hear(heard("one"), NOON)
    gateway.refuse = broken
    for n in range(MOST_TRIES + 3):
        deliver(intake.database, {"paddock": gateway}, NOON + 2 * n * HOUR)
    assert rows(intake.database, t.TextOut.state, t.TextOut.attempts) == [("failed", MOST_TRIES)]
    assert len(column(intake.database, t.Review.id)) == 1


def test_a_gateway_that_is_gone_is_a_reason(intake: Intake) -> None:
    intake.hear(heard("one"), NOON)
    assert deliver(intake.database, {}, NOON) == Tally(failed=1)
    assert column(intake.database, t.TextOut.error) == ["no_such_gateway"]


def test_what_was_withdrawn_is_not_sent(intake: Intake, gateway: FakeGateway) -> None:
    intake.hear(heard("ask seen", "1"), NOON)
    intake.hear(heard("answer pus", "2"), NOON)
    send_all(intake, gateway)
    assert [body for _, body in gateway.sent] == ["advice", "thanks"]


def test_what_went_out_while_it_was_withdrawn_counts_as_sent(
    intake: Intake, gateway: FakeGateway
) -> None:
    intake.hear(heard("danger", "1"), NOON)
    deliver(intake.database, {"paddock": gateway}, NOON)
    gateway.refuse = lambda body: intake.hear(heard("stop", "2"), NOON) and None
    deliver(intake.database, {"paddock": gateway}, NOON)
    states = rows(intake.database, t.TextOut.id, t.TextOut.body, t.TextOut.state, t.TextOut.error)
    assert states[1] == (2, "which?", "sent", "opted_out")


def test_waits_double_up_to_an_hour_and_are_spread() -> None:
    seconds = [backoff(n, 1.0).total_seconds() for n in range(1, 13)]
    assert seconds == [20, 40, 80, 160, 320, 640, 1280, 2560, 3600, 3600, 3600, 3600]
    assert backoff(1, 0.0) == timedelta(seconds=10)
