"""What carriers report: twice, late, in any order, before the mark; each text's state is one."""

from __future__ import annotations

from itertools import permutations

import pytest
from sqlalchemy import delete, select, update

from bot.fieldwork.state import load
from bot.gateways.protocol import Report, Sent
from bot.programme import Programme
from bot.service import tables as t
from bot.service.database import Database
from bot.service.desk import Desk
from bot.service.erasing import erase, hunters_of
from bot.service.intake import Intake
from bot.service.outbox import deliver
from bot.service.reports import take_reports
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
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


MORNING = NOON - 12 * HOUR
"""Eleven at the demo's place, when its field staff are on duty."""
OFFER = select(t.TextOut.id).where(t.TextOut.kind == "offer").order_by(t.TextOut.id)
SAYS = (
    "Shot a boar at -36.9051, 147.1822 yesterday about 9pm, pus in the gland under the jaw. Head "
    "bagged in the freezer at Brindle Hut. State forest. Name's Gil, no jaw"
)


def offers(database: Database) -> list[tuple[str, str]]:
    (state,) = column(database, t.Pickup.state)
    return [(offer.staff_id, offer.answer) for offer in load(state).offers]


def test_an_offer_that_did_not_arrive_goes_on_to_the_next(
    database: Database, programme: Programme
) -> None:
    """With the real machines: the second is asked at once, the first row says why, and the same
    report once more asks nobody else."""
    import_roster(database, programme.roster)
    intake = open_intake(database, load_dialog(dialog_files()), programme)
    code = intake.hear(heard(SAYS, "1", at=MORNING), MORNING).code
    assert [answer for _, answer in offers(database)] == [""]
    deliver(database, {"paddock": ByKey()}, MORNING)
    with database.read() as connection:
        (offer,) = connection.scalars(OFFER)
    failed = Report(f"out-{offer}", "undeliverable", MORNING, "switched off")
    for _ in range(2):
        intake.report("paddock", [failed], MORNING + HOUR / 60)
    first, second = offers(database)
    assert (first[1], second[1]) == ("unreached", "")
    assert first[0] != second[0]
    with database.read() as connection:
        assert len(list(connection.scalars(OFFER))) == 2
    assert "undelivered" in [r.reason for r in Desk(database).find_card(code).reviews]


def test_a_hunters_text_that_did_not_arrive_moves_no_pickup(
    database: Database, programme: Programme
) -> None:
    import_roster(database, programme.roster)
    intake = open_intake(database, load_dialog(dialog_files()), programme)
    intake.hear(heard(SAYS, "1", at=MORNING), MORNING)
    deliver(database, {"paddock": ByKey()}, MORNING)
    before = offers(database)
    with database.read() as connection:
        others = connection.scalars(select(t.TextOut.id).where(t.TextOut.kind != "offer")).all()
    assert others
    intake.report("paddock", [report(f"out-{n}", "undeliverable") for n in others], MORNING)
    assert offers(database) == before


class ByKey(FakeGateway):
    """Reports on every text under our own key."""

    def send(self, address, body, key):
        super().send(address, body, key)
        return Sent("", (key,))
