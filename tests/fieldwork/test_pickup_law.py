"""The law of a pickup over any sequence of events: always with one person, a timer or the
review list; never with two people; and whatever is sent fits two segments."""

from __future__ import annotations

from datetime import timedelta

import hypothesis.strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.pickups import ANSWERS as KINDS_OF_ANSWER
from bot.fieldwork.pickups import LIVE, move
from bot.fieldwork.state import dump, load, pickup_of
from bot.messages import (
    AskCoordinator,
    Assigned,
    BroughtIn,
    CalledOff,
    FieldReply,
    OfferLapsed,
    Opened,
    PickupChanged,
    PickupEvent,
    SendText,
    SettleReview,
    Unreached,
    WaitFor,
)
from bot.talk.segments import segments_of
from tests.fieldwork.rosters import DIALOG, NOON, ON_CALL, ORDER, PROGRAMME

PEOPLE = st.sampled_from(["near", "mid", "far", "desk", "ghost"])
ANSWERS = st.sampled_from(KINDS_OF_ANSWER)


class PickupLaw(RuleBasedStateMachine):
    """Keeps its own list of waits, reviews and holders from the effects alone."""

    on = PROGRAMME
    asked_at_once = 1

    def __init__(self) -> None:
        super().__init__()
        self.pickup = pickup_of("7K4T", ORDER)
        self.at = NOON
        self.roster = Roster(self.on.roster)
        self.waits: dict[int, WaitFor] = {}
        self.reviews: set[str] = set()

    def feed(self, event: PickupEvent) -> None:
        before = self.pickup
        after, effects = move(before, event, self.roster, self.on, DIALOG)
        assert move(before, event, self.roster, self.on, DIALOG) == (after, effects)
        self.pickup = load(dump(after))
        assert self.pickup == after
        for effect in effects:
            if isinstance(effect, WaitFor):
                assert effect.due > self.at
                self.waits[effect.mark] = effect
            elif isinstance(effect, AskCoordinator):
                self.reviews.add(effect.reason)
            elif isinstance(effect, SettleReview):
                self.reviews -= set(effect.reasons)
            elif isinstance(effect, SendText):
                assert segments_of(effect.body) <= 2
                assert effect.to is not None
        assert after != before or after.refused or effects, "never a silent nothing"

    @initialize(hours=st.integers(0, 24 * 7))
    def opened(self, hours: int) -> None:
        self.at += timedelta(hours=hours)
        self.feed(Opened(self.at))

    @rule(minutes=st.integers(0, 900))
    def time_passes(self, minutes: int) -> None:
        """Timers fire in order, each at its time, as the service would."""
        end = self.at + timedelta(minutes=minutes)
        while due := sorted((w for w in self.waits.values() if w.due <= end), key=lambda w: w.due):
            self.waits.pop(due[0].mark)
            self.at = max(self.at, due[0].due)
            self.feed(OfferLapsed(self.at, due[0].mark))
        self.at = end

    @rule(staff_id=PEOPLE, answer=ANSWERS, words=st.sampled_from(["", "by 4"]))
    def answers(self, staff_id: str, answer: str, words: str) -> None:
        self.feed(FieldReply(self.at, staff_id, answer, words))

    @precondition(lambda self: self.pickup.with_whom)
    @rule(answer=ANSWERS, which=st.integers(0, 1))
    def its_own_answers(self, answer: str, which: int) -> None:
        who = self.pickup.with_whom
        self.feed(FieldReply(self.at, who[which % len(who)], answer))

    @precondition(lambda self: len(self.pickup.with_whom) == 2)
    @rule(first=st.integers(0, 1))
    def both_say_yes(self, first: int) -> None:
        """One gets it, the other is told who has it."""
        both = self.pickup.with_whom
        self.feed(FieldReply(self.at, both[first], "yes"))
        if both[first] in self.roster.by_id:
            assert (self.pickup.state, self.pickup.staff_id) == ("taken", both[first])
            self.feed(FieldReply(self.at, both[1 - first], "yes"))
            assert self.pickup.staff_id == both[first]

    @rule(staff_id=PEOPLE)
    def assigned(self, staff_id: str) -> None:
        self.feed(Assigned(self.at, "Di", staff_id))

    @rule(staff_id=PEOPLE, minutes=st.integers(0, 60))
    def an_offer_did_not_arrive(self, staff_id: str, minutes: int) -> None:
        self.feed(Unreached(self.at, staff_id, self.at - timedelta(minutes=minutes)))

    @rule(by=st.sampled_from(["hunter", "Di"]))
    def called_off(self, by: str) -> None:
        self.feed(CalledOff(self.at, by))

    @rule(place=st.sampled_from(["", "Kerrin Flat Depot"]))
    def brought_in(self, place: str) -> None:
        self.feed(BroughtIn(self.at, "left it there", place))

    @rule(lat=st.floats(-38, -36), words=st.text(max_size=400))
    def changed(self, lat: float, words: str) -> None:
        self.feed(PickupChanged(self.at, words, lat, 147.0))

    @rule(access=st.text(max_size=200))
    def told_of_the_way_in(self, access: str) -> None:
        here = self.pickup
        self.feed(PickupChanged(self.at, here.place_words, here.lat, here.lon, access=access))

    @rule(mark=st.integers(-1, 30))
    def stale_wake(self, mark: int) -> None:
        if mark != self.pickup.mark:
            self.feed(OfferLapsed(self.at, mark))

    @rule(keep=st.sets(st.sampled_from(["near", "mid", "far", "desk"])))
    def roster_changes(self, keep: set[str]) -> None:
        self.roster = Roster(tuple(m for m in self.on.roster if m.id in keep))

    @invariant()
    def never_with_two(self) -> None:
        open_offers = [o for o in self.pickup.offers if not o.answer]
        assert not (open_offers and self.pickup.staff_id)
        assert len({o.staff_id for o in open_offers}) == len(open_offers) <= self.asked_at_once
        assert len({o.until for o in open_offers}) <= 1
        assert bool(open_offers) == (self.pickup.state == "offered")
        held = self.pickup.state in ("taken", "collected", "handed_in")
        assert bool(self.pickup.staff_id) == held

    @invariant()
    def never_forgotten(self) -> None:
        assert set(self.pickup.reviews) == self.reviews
        if self.pickup.state not in LIVE or self.pickup.opened_at is None:
            return
        wait = self.waits.get(self.pickup.mark)
        assert (wait.due if wait else None) == self.pickup.due
        assert wait or self.reviews

    @invariant()
    def the_end_is_quiet(self) -> None:
        if self.pickup.state in ("handed_in", "called_off"):
            assert self.pickup.due is None
            assert self.reviews <= {"two_hold_it"}


class OnCallLaw(PickupLaw):
    """The same where two who are on call are asked at once."""

    on = ON_CALL
    asked_at_once = 2


TestPickupLaw = PickupLaw.TestCase
TestOnCallLaw = OnCallLaw.TestCase
