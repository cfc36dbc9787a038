"""The trail is kept in the same transaction as the pickup's event, and only grows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.commands.loading import loaded_dialog
from bot.fieldwork.custody import (
    DEPOT,
    HANDED_IN,
    HUNTER,
    LABORATORY,
    CustodyEvent,
    Decided,
    HandedOver,
    JawReleased,
    LabSaid,
    Made,
    Settled,
)
from bot.fieldwork.specimens import Specimen, Trail
from bot.messages import AuthorityTold, ResultApproved
from bot.programme import Programme
from bot.service import custody
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.custody_door import TrailMovedOnError
from bot.service.database import Database
from bot.service.intake import Intake
from bot.service.links import Links
from bot.service.roster import import_roster
from bot.service.wiring import rules_of
from bot.talk import state as talk_state
from bot.talk.segments import segments_of
from tests.service.fakes import HOUR, NELL, TOM, column, heard, rows
from tests.service.fakes import NOON as NOON_UTC

NOON = NOON_UTC + 9 * HOUR
"""Thursday 08:00 in the programme's zone, so that somebody is on duty."""
MINUTE = timedelta(minutes=1)
FULL = (
    "Shot a boar Sat 6pm, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in the "
    "freezer at Brindle Hut. State forest. Name's Dave Kerr, want the jaw back"
)


@pytest.fixture(scope="session")
def real_rules(programme: Programme):
    return rules_of(loaded_dialog(None), programme)


@pytest.fixture
def intake(database: Database, programme: Programme, real_rules) -> Intake:
    """The real machines, since it is their words that custody is read from."""
    import_roster(database, programme.roster)
    return Intake(database, real_rules, programme, seeded(7))


@pytest.fixture
def code(intake: Intake, caplog: pytest.LogCaptureFixture) -> Iterator[str]:
    yield intake.hear(heard(FULL, at=NOON), NOON).code
    assert [r.message for r in caplog.records if r.message.endswith("fault")] == []


def staff(intake: Intake, *bodies: str, number: str = NELL) -> None:
    for body in bodies:
        count = len(column(intake.database, t.TextIn.id))
        at = NOON + count * MINUTE
        intake.hear(heard(body, f"s{count}", number, at), at)


def trail(intake: Intake, root: str) -> Trail:
    with intake.database.read() as connection:
        return custody.trail_of(connection, root)


def specimens(intake: Intake) -> tuple[Specimen, ...]:
    with intake.database.read() as connection:
        return custody.all_specimens(connection)


def reasons(intake: Intake) -> list[str]:
    return column(intake.database, t.Review.reason, t.Review.closed_at.is_(None))


def tell(intake: Intake, *events: CustodyEvent, seen: int | None = None) -> tuple[str, ...]:
    return intake.tell_custody(events, NOON + 100 * HOUR, seen)


def said(intake: Intake) -> list[str]:
    return column(
        intake.database, t.TextOut.body, t.TextOut.hunter_id.is_not(None), order=t.TextOut.id
    )


def lab(code: str, status: str = "final", outcome: str = "negative") -> LabSaid:
    return LabSaid(NOON + 99 * HOUR, "ines", code, status, "L-1", outcome)


def test_got_it_and_handed_in_by_text_are_on_the_trail(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}", f"handed in {code} at the depot")
    first, last = trail(intake, code).events
    assert (first.giver, first.receiver, first.state) == (HUNTER, "f1", "frozen")
    assert (last.giver, last.receiver) == ("f1", DEPOT + "Kerrin Flat Depot")
    assert [s.holder for s in specimens(intake)] == [last.receiver]
    assert reasons(intake) == []


def test_a_hand_over_that_does_not_fit_is_shown_to_the_coordinator(
    intake: Intake, code: str
) -> None:
    staff(intake, f"yes {code}", f"got {code}")
    tell(intake, HandedOver(NOON + HOUR, "ines", code, "", "f2"))
    assert trail(intake, code).specimens[0].holders == ("f1", "f2")
    assert reasons(intake) == ["custody_two_hold"]
    assert column(intake.database, t.Review.heard) == [f"{code}: f1, f2"]
    tell(intake, Settled(NOON + 2 * HOUR, "ines", code, "f2", "rang both"))
    assert reasons(intake) == []


def test_the_trail_and_the_pickup_stand_or_fall_together(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}")

    def boom(*_) -> tuple[CustodyEvent, ...]:
        raise ValueError("custody")

    broken = replace(intake, rules=replace(intake.rules, custody=boom))

    at = NOON + 9 * HOUR
    assert broken.hear(heard(f"got {code}", "x", NELL, at), at).fault
    assert column(intake.database, t.Pickup.name) == ["taken"]
    assert trail(intake, code).events == ()


def test_rows_are_only_ever_added(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}")
    before = rows(intake.database, t.Custody.id, t.Custody.kind, t.Custody.body)
    tell(intake, Made(NOON + HOUR, "ines", f"{code}/1", "nodes"), lab(f"{code}/1"))
    after = rows(intake.database, t.Custody.id, t.Custody.kind, t.Custody.body)
    assert after[: len(before)] == before
    assert [row[1] for row in after] == ["handed_over", "made", "lab_said"]


def test_who_comes_second_is_told_and_nothing_is_kept(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}")
    tell(intake, HandedOver(NOON, "ines", code, "f1", "f2"), seen=1)
    with pytest.raises(TrailMovedOnError):
        tell(intake, HandedOver(NOON, "bo", code, "f1", "f3"), seen=1)
    assert trail(intake, code).specimens[0].holders == ("f2",)


def test_a_code_that_nobody_knows_is_refused_whole(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}")
    with pytest.raises(LookupError):
        tell(intake, lab(code), lab("M4C-9RJ"))
    assert len(trail(intake, code).events) == 1


def test_a_final_result_reaches_the_talk_once_and_waits_for_approval(
    intake: Intake, code: str
) -> None:
    staff(intake, f"yes {code}", f"got {code}", f"handed in {code}")
    tell(intake, lab(code, "received", ""), lab(code))
    assert reasons(intake) == ["result_to_approve"]
    before = said(intake)
    intake.tell(code, ResultApproved(NOON + 101 * HOUR, "ines"), NOON + 101 * HOUR)
    assert [f"{code}: the lab did not find" in body for body in said(intake)[len(before) :]] == [
        True
    ]
    tell(intake, lab(code))
    assert reasons(intake) == []
    assert len(said(intake)) == len(before) + 1


def test_a_positive_is_the_authoritys_first(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}", f"handed in {code}")
    tell(intake, lab(code, "final", "positive"))
    assert sorted(reasons(intake)) == ["positive_result", "result_to_approve"]
    at = NOON + 101 * HOUR
    with pytest.raises(ValueError, match="authority"):
        intake.tell(code, ResultApproved(at, "ines"), at)
    for event in (AuthorityTold(at, "ines"), ResultApproved(at, "ines")):
        intake.tell(code, event, at)
    assert reasons(intake) == []
    assert said(intake)[-1].startswith(f"{code}: the lab found")
    numbers = column(intake.database, t.TextOut.number, t.TextOut.body.contains("the lab found"))
    assert numbers == ["+61491570006"], "only the reporting number"


def test_the_jaw_is_told_of_once(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}", f"handed in {code}")
    tell(intake, JawReleased(NOON + 99 * HOUR, "ines", code, "sent"))
    assert (
        said(intake)[-1]
        == f"The jaw of {code} is released and on its way to you. Thanks for lending it."
    )
    (state,) = column(intake.database, t.Conversation.state)
    assert talk_state.load(state).jaw == "sent"


def test_an_unlabelled_head_is_either_ofs_until_it_is_decided(intake: Intake, code: str) -> None:
    other = intake.hear(heard(FULL.replace("boar", "sow"), "2", TOM, NOON), NOON).code
    made = Made(NOON, "ines", "", holder="f1", either_of=(code, other))
    (root,) = tell(intake, made)
    assert root not in (code, other)
    with intake.database.read() as connection:
        assert custody.roots_of(connection, code) == (code, root)
        assert custody.roots_of(connection, other) == (other, root)
    tell(intake, lab(root))
    assert reasons(intake) == ["custody_gap", "custody_gap"], "on both finds, and no result yet"
    tell(intake, Decided(NOON, "ines", root, other))
    finds = rows(intake.database, t.Conversation.id, t.Conversation.code)
    waits = column(
        intake.database, t.Review.conversation_id, t.Review.reason == "result_to_approve"
    )
    assert [row[1] for row in finds if row[0] in waits] == [other]
    with intake.database.read() as connection:
        assert custody.roots_of(connection, code) == (code,)


def test_handed_in_without_a_place_is_the_laboratory_or_a_depot(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}", f"handed in {code}")
    assert specimens(intake)[0].holder == HANDED_IN
    tell(intake, lab(code, "received", ""))
    assert specimens(intake)[0].holder == LABORATORY
    assert reasons(intake) == []
    assert specimens(intake)[0].since == NOON + 99 * HOUR
    assert specimens(intake)[0].cold_since == NOON - timedelta(0)


def test_an_offer_carries_its_page_where_that_still_fits(
    database: Database, programme: Programme, real_rules
) -> None:
    import_roster(database, programme.roster)
    links = Links("secret", "https://post.example")
    intake = Intake(database, real_rules, programme, seeded(7), links)
    short = "boar, pus in the jaw gland, head is at Brindle Hut"
    code = intake.hear(heard(short, at=NOON), NOON).code
    long = FULL.replace("Dave Kerr", "Maximilian Featherstonehaugh")
    long = long.replace("at Brindle Hut", "3 km NW of Gannet Spur Track")
    intake.hear(heard(long, "2", TOM, NOON), NOON)
    offers = column(database, t.TextOut.body, t.TextOut.kind == "offer", order=t.TextOut.id)
    assert all(segments_of(body) <= 2 for body in offers)
    words, _, address = offers[0].rpartition(" ")
    assert links.open_job(address.rpartition("/")[2], NOON) == (code, "f1")
    assert words.endswith(f"NO {code}.")


def test_without_a_public_address_an_offer_has_no_link(intake: Intake, code: str) -> None:
    (offer,) = column(intake.database, t.TextOut.body, t.TextOut.kind == "offer")
    assert "http" not in offer


def test_the_same_news_of_the_laboratory_is_kept_once(intake: Intake, code: str) -> None:
    staff(intake, f"yes {code}", f"got {code}", f"handed in {code}")
    for _ in range(2):
        tell(intake, lab(code, "received", ""), lab(code))
    kinds = rows(intake.database, t.Custody.id, t.Custody.kind)
    assert [row[1] for row in kinds] == ["handed_over"] * 2 + ["lab_said"] * 2
