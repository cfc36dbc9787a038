"""What carriers report: twice, late, in any order, before the mark; each text's state is one."""

from __future__ import annotations

from itertools import permutations

import pytest
from sqlalchemy import delete, update

from bot.gateways.protocol import Report, Sent
from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.erasing import erase, hunters_of
from bot.service.intake import Intake
from bot.service.outbox import deliver
from bot.service.reports import take_reports
from tests.service.fakes import HOUR, HUNTER, NOON, FakeGateway, column, heard, rows


class TwoParts(FakeGateway):
    def send(self, address, body, key):
        super().send(address, body, key)
        return Sent("a", ("a", "b"))


def report(id: str, state: str, reason: str = "") -> Report:
    return Report(id, state, NOON, reason)


def state(database: Database) -> tuple:
    return rows(database, t.TextOut.report, t.TextOut.error)[0]


def afresh(database: Database) -> None:
    """The text as it was before anything was reported."""
    with database.write() as connection:
        connection.execute(delete(t.Carried))
        connection.execute(delete(t.Review))
        connection.execute(update(t.TextOut).values(report="", error="", state="waiting"))
        connection.execute(update(t.TextOut).values(next_try_at=NOON, attempts=0))


STEPS = ("mark", report("a", "delivered"), report("b", "accepted"), report("b", "undeliverable"))


def test_any_order_ends_alike(intake: Intake) -> None:
    intake.hear(heard("one"), NOON)
    for order in permutations(STEPS):
        afresh(intake.database)
        for step in (*order, *order[1:]):
            if step == "mark":
                deliver(intake.database, {"paddock": TwoParts()}, NOON)
            else:
                take_reports(intake.database, "paddock", [step], NOON)
        assert state(intake.database) == ("undeliverable", "")
        assert column(intake.database, t.Review.reason) == ["undelivered"]


@pytest.mark.parametrize(
    ("reports", "becomes"),
    [
        ([], ""),
        ([report("a", "accepted")], "accepted"),
        ([report("a", "delivered")], "accepted"),
        ([report("a", "delivered"), report("b", "delivered")], "delivered"),
        ([report(x, "delivered") for x in "aab"], "delivered"),
        ([report("b", "accepted"), *(report(x, "delivered") for x in "ba")], "delivered"),
        ([report("a", "undeliverable"), report("a", "delivered")], "accepted"),
        ([report("c", "undeliverable")], ""),
    ],
)
def test_a_text_is_what_its_parts_are_together(intake: Intake, reports, becomes) -> None:
    intake.hear(heard("one"), NOON)
    deliver(intake.database, {"paddock": TwoParts()}, NOON)
    take_reports(intake.database, "paddock", reports, NOON + HOUR)
    assert state(intake.database)[0] == becomes


def test_the_coordinator_reads_why_it_did_not_arrive(intake: Intake) -> None:
    code = intake.hear(heard("one"), NOON).code
    deliver(intake.database, {"paddock": TwoParts()}, NOON)
    failed = report("b", "undeliverable", "absent\x00 subscriber\n" + "9" * 100)
    take_reports(intake.database, "paddock", [failed], NOON + HOUR)
    card = Desk(intake.database).find_card(code)
    assert card.reviews[0].heard.startswith("absent subscriber 999")
    out = card.lines[-1]
    assert (out.state, out.report, out.reported_at) == ("sent", "undeliverable", NOON + HOUR)
    assert out.error.startswith("absent subscriber 9")
    assert len(out.error) <= 60


def test_another_gateways_name_is_another_text(intake: Intake) -> None:
    intake.hear(heard("one"), NOON)
    deliver(intake.database, {"paddock": TwoParts()}, NOON)
    take_reports(intake.database, "hill", [report("a", "undeliverable")], NOON)
    assert state(intake.database) == ("", "")


def test_a_name_that_a_carrier_uses_again_starts_anew(intake: Intake) -> None:
    intake.hear(heard("one", "1"), NOON)
    deliver(intake.database, {"paddock": TwoParts()}, NOON)
    take_reports(intake.database, "paddock", [report("a", "delivered")], NOON)
    intake.hear(heard("two", "2"), NOON)
    deliver(intake.database, {"paddock": TwoParts()}, NOON)
    assert rows(intake.database, t.TextOut.id, t.TextOut.report) == [(1, "accepted"), (2, "")]


def test_erasing_takes_a_carriers_words_along(intake: Intake, programme: Programme) -> None:
    intake.hear(heard("one"), NOON)
    deliver(intake.database, {"paddock": TwoParts()}, NOON)
    failed = report("b", "undeliverable", "absent: +61491570006")
    take_reports(intake.database, "paddock", [failed], NOON)
    erase(intake.database, hunters_of(intake.database, programme, HUNTER), NOON)
    assert column(intake.database, t.Carried.reason) == ["", ""]
    assert state(intake.database) == ("undeliverable", "")
