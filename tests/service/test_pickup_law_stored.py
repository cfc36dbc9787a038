"""The law of a pickup on the real service and both databases, over any short sequence of texts,
orders and waits: as the rows say, it is never with two people, and never with nobody while no
timer runs and nobody is asked for it."""

from __future__ import annotations

from datetime import datetime, timedelta

import hypothesis.strategies as st
from hypothesis import settings
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from msgspec.structs import replace
from sqlalchemy import select

from bot.fieldwork.state import LIVE, Pickup, load
from bot.messages import Assigned, CalledOff, Heard
from bot.programme import Member
from bot.service import tables as t
from bot.service.codes import seeded
from bot.service.database import Database
from bot.service.links import Links
from bot.service.reviewing import FAULT
from bot.service.roster import change_member, import_roster, mark_of, roster
from bot.service.wiring import open_intake
from bot.talk.segments import segments_of
from tests.service.conftest import empty
from tests.web.wires import DIALOG, PROGRAMME

NOON = datetime.fromisoformat("2026-11-25T01:00:00+00:00")
"""Wednesday 12:00 in Melbourne."""
HUNTER = "+61491570006"
FOUND = (
    "Shot a boar this morning, pus in the jaw gland. 36 52.2 S 147 09.1 E. Head is in 2 bags in "
    "the freezer at Brindle Hut. State forest. Name's Dave Kerr, no jaw"
)
FETCH = {m.id: m for m in PROGRAMME.roster if m.role == "field"}
WHO = st.sampled_from(sorted(FETCH)[:4])
ANSWERS = st.sampled_from(
    ["yes {c}", "no {c}", "got {c}", "handed in {c}", "head gone {c}", "nobody home {c}",
     "can't {c}", "my round", "{c} yes, whats my round"]
)  # fmt: skip
BARE = st.sampled_from(["yes", "no", "got it", "handed in", "cant make it after all", "no access"])

ONWARD = {"offered": "yes", "taken": "got the head", "collected": "handed in"}


class StoredLaw(RuleBasedStateMachine):
    """Everything is looked up in the rows, as another process would see it."""

    database: Database

    def __init__(self) -> None:
        super().__init__()
        empty(self.database)
        import_roster(self.database, PROGRAMME.roster)
        links = Links("a secret for tests only, and long enough", "https://post.example")
        self.intake = open_intake(self.database, DIALOG, PROGRAMME, seeded(3), links)
        self.at = NOON
        self.texts = 0
        self.code = ""

    def text(self, words: str, number: str) -> str:
        self.texts += 1
        heard = Heard(f"t{self.texts}", "paddock", number, words, self.at)
        receipt = self.intake.hear(heard, self.at)
        assert not receipt.fault
        return receipt.code

    def pickup(self) -> Pickup:
        with self.database.read() as connection:
            row = connection.execute(select(t.Pickup.state).where(t.Pickup.code == self.code))
            return load(row.scalar_one())

    @initialize(hours=st.sampled_from([0, 3, 13, 68]))
    def a_find(self, hours: int) -> None:
        self.at += timedelta(hours=hours)
        self.code = self.text(FOUND, HUNTER)

    @rule(minutes=st.integers(1, 1500))
    def time_passes(self, minutes: int) -> None:
        """Waits run out one after the other, each at its time."""
        end = self.at + timedelta(minutes=minutes)
        query = select(t.Timer.due_at).where(t.Timer.done_at.is_(None), t.Timer.due_at <= end)
        while True:
            with self.database.read() as connection:
                due = connection.scalar(query.order_by(t.Timer.due_at).limit(1))
            if due is None:
                break
            self.at = max(self.at, due)
            assert self.intake.run_due(self.at) > 0
        self.at = end

    @rule(who=WHO, words=ANSWERS)
    def somebody_answers(self, who: str, words: str) -> None:
        self.text(words.format(c=self.code), FETCH[who].number)

    @rule(words=BARE)
    def whoever_has_it_answers(self, words: str) -> None:
        for who in self.pickup().with_whom:
            self.text(words, FETCH[who].number)

    @rule()
    def it_moves_on(self) -> None:
        pickup = self.pickup()
        for who in pickup.with_whom if pickup.state in ONWARD else ():
            self.text(ONWARD[pickup.state], FETCH[who].number)

    @rule(words=st.sampled_from(["head is at -36.80 147.20 now", "thanks", "by 5 at the hut"]))
    def the_hunter_writes(self, words: str) -> None:
        self.text(words, HUNTER)

    @rule(who=WHO)
    def given_by_hand(self, who: str) -> None:
        self.intake.tell_pickup(self.code, Assigned(self.at, "ines", who), self.at)

    @precondition(lambda self: self.texts > 4)
    @rule()
    def called_off(self) -> None:
        self.intake.tell_pickup(self.code, CalledOff(self.at, "ines"), self.at)

    @rule(who=WHO, off=st.booleans())
    def duty_changes(self, who: str, off: bool) -> None:
        with self.database.read() as connection:
            member: Member | None = roster(connection).by_id.get(who)
        if member is not None:
            change_member(self.database, replace(member, off_duty=off), mark_of(member))

    @rule(keep=st.sets(WHO, min_size=2))
    def the_roster_is_read_anew(self, keep: set[str]) -> None:
        import_roster(self.database, [m for m in PROGRAMME.roster if m.id in keep])

    @invariant()
    def the_law_holds(self) -> None:
        if not self.code:
            return
        with self.database.read() as connection:
            (row,) = connection.execute(select(t.Pickup.__table__)).all()
            timers = connection.execute(
                select(t.Timer.mark, t.Timer.due_at).where(
                    t.Timer.stream == "pickup",
                    t.Timer.stream_id == row.id,
                    t.Timer.done_at.is_(None),
                )
            ).all()
            reviews = connection.execute(
                select(t.Review.reason).where(
                    t.Review.conversation_id == row.conversation_id, t.Review.closed_at.is_(None)
                )
            )
            newest = select(t.TextOut.body).order_by(t.TextOut.id.desc()).limit(5)
            assert all(segments_of(body) <= 2 for body in connection.scalars(newest))
            self.holds(row, dict(map(tuple, timers)), set(reviews.scalars()))

    def holds(self, row, timers: dict[int, datetime], reviews: set[str]) -> None:
        pickup = load(row.state)
        assert (row.name, row.code) == (pickup.state, self.code)
        assert FAULT not in reviews
        open_offers = pickup.open_offers
        assert not (open_offers and pickup.staff_id), "with two"
        assert len(pickup.with_whom) <= 1
        assert row.staff_id == (*pickup.with_whom, "")[0]
        if pickup.due is not None:
            assert timers.get(pickup.mark) == pickup.due, "a wait without its timer"
        if pickup.state in LIVE:
            assert pickup.due is not None or reviews & set(pickup.reviews), "forgotten"
            assert set(pickup.reviews) <= reviews
        else:
            assert pickup.due is None


def test_the_law_holds_in_the_rows(database: Database) -> None:
    machine = type("OnThis", (StoredLaw,), {"database": database})
    run_state_machine_as_test(
        machine, settings=settings(max_examples=8, stateful_step_count=12, deadline=None)
    )
