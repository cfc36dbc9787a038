"""What may go out now: nothing is dropped, advice always goes, the coordinator is told once."""

from __future__ import annotations

from datetime import timedelta

from bot.programme import Programme
from bot.service import tables as t
from bot.service.intake import Intake
from bot.service.limits import Limits, limits_of
from bot.service.outbox import Share, Tally, deliver
from tests.service.fakes import (
    HOUR,
    HUNTER,
    MATE,
    NOON,
    FakeGateway,
    column,
    heard,
    rows,
)


def send_all(intake: Intake, gateway: FakeGateway, limits: Limits, now=NOON) -> list[str]:
    before = len(gateway.sent)
    tally = Tally(sent=1)
    while tally.sent or tally.held:
        tally = deliver(intake.database, {"paddock": gateway}, now, limits=limits)
    return [body for _, body in gateway.sent[before:]]


def reviews(intake: Intake) -> list[str]:
    return column(intake.database, t.Review.reason)


def test_a_hunters_day_is_capped_and_advice_goes(intake: Intake, gateway: FakeGateway) -> None:
    limits = Limits(hunter_day=2)
    for n in range(4):
        intake.hear(heard(f"part {n}", str(n)), NOON)
    intake.hear(heard("danger", "5"), NOON)
    intake.hear(heard("part 9", "9", MATE), NOON)
    went = send_all(intake, gateway, limits)
    assert went == ["noted part 0", "noted part 9", "noted part 1", "keep off"]
    assert reviews(intake) == ["cap_hunter"]
    # After a day there is room again, and what was held comes in its order.
    later = send_all(intake, gateway, limits, NOON + 25 * HOUR)
    assert later == ["noted part 2", "noted part 3"]
    assert send_all(intake, gateway, limits, NOON + 50 * HOUR) == ["which?"]
    assert set(column(intake.database, t.TextOut.attempts)) == {1}


def test_the_programmes_hour_is_capped_and_told_once(intake: Intake, gateway: FakeGateway) -> None:
    limits = Limits(programme_hour=1)
    for n, who in enumerate((HUNTER, MATE)):
        intake.hear(heard(f"part {n}", str(n), who), NOON)
    assert send_all(intake, gateway, limits) == ["noted part 0"]
    assert send_all(intake, gateway, limits, NOON + timedelta(minutes=59)) == []
    assert reviews(intake) == ["cap_programme"]
    assert send_all(intake, gateway, limits, NOON + 2 * HOUR) == ["noted part 1"]


def test_what_a_free_gateway_carries_costs_nothing(intake: Intake, gateway: FakeGateway) -> None:
    limits = Limits(hunter_day=1, programme_hour=1, free=("paddock",))
    for n in range(3):
        intake.hear(heard(f"part {n}", str(n)), NOON)
    assert len(send_all(intake, gateway, limits)) == 3


def test_a_reminder_waits_for_the_morning_and_holds_nothing_back(
    intake: Intake, gateway: FakeGateway, programme: Programme
) -> None:
    limits = limits_of(programme)
    # 12:00 UTC on 25 November is 23:00 in Melbourne, which is 11 hours ahead in summer; the
    # programme's night ends at 6.
    morning = NOON + timedelta(hours=7)
    intake.hear(heard("ask seen", "1"), NOON - 3 * HOUR)
    intake.run_due(NOON - 2 * HOUR)
    intake.hear(heard("part 2", "2"), NOON)
    assert send_all(intake, gateway, limits) == ["advice", "seen?", "noted part 2"]
    state = rows(intake.database, t.TextOut.id, t.TextOut.body, t.TextOut.error)
    assert (3, "well?", "quiet_hours") in state
    assert send_all(intake, gateway, limits, morning - timedelta(minutes=1)) == []
    assert send_all(intake, gateway, limits, morning) == ["well?"]
    assert reviews(intake) == []


def test_a_worker_takes_only_its_share(intake: Intake, gateway: FakeGateway) -> None:
    intake.hear(heard("one"), NOON)
    others = {"share": Share(("paddock",))}
    assert deliver(intake.database, {"paddock": gateway}, NOON, **others).sent == 0
    own = {"share": Share(("paddock",), only=True)}
    assert deliver(intake.database, {"paddock": gateway}, NOON, **own).sent == 1
