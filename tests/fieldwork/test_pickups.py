"""The pickup's life as stories, and its table cell by cell."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.pickups import KINDS, LIVE, MISSES, OWN_MISSES, REASONS, TABLE, move
from bot.fieldwork.staff_dialog import PLACEHOLDERS
from bot.fieldwork.state import (
    VERSION,
    Offer,
    Pickup,
    PickupStateError,
    dump,
    load,
    pickup_of,
)
from bot.messages import (
    AskCoordinator,
    Assigned,
    BroughtIn,
    CalledOff,
    Effect,
    FieldReply,
    OfferLapsed,
    Opened,
    PickupChanged,
    PickupEvent,
    SendText,
    SettleReview,
    TellHunter,
    Unreached,
    WaitFor,
)
from bot.programme import Programme
from tests.fieldwork.rosters import DIALOG, NOON, ORDER, PROGRAMME, ROSTER, programme

NUMBERS = {m.id: m.number for m in ROSTER.members}
MINUTE = timedelta(minutes=1)


class Story:
    """One pickup, fed event by event; keeps the last effects."""

    def __init__(self, at: datetime = NOON, on: Programme = PROGRAMME) -> None:
        self.at, self.on, self.effects = at, on, ()
        self.pickup = pickup_of("7K4T", ORDER)
        self.feed(Opened(at))

    def feed(self, event: PickupEvent) -> Story:
        self.pickup, self.effects = move(
            self.pickup, event, Roster(self.on.roster), self.on, DIALOG
        )
        return self

    def says(self, staff_id: str, answer: str, words: str = "") -> Story:
        return self.feed(FieldReply(self.at, staff_id, answer, words))

    def lapses(self) -> Story:
        assert self.pickup.due is not None
        self.at = self.pickup.due
        return self.feed(OfferLapsed(self.at, self.pickup.mark))

    def of(self, kind: type[Effect]) -> list[Effect]:
        return [e for e in self.effects if isinstance(e, kind)]

    @property
    def told(self) -> list[str]:
        return [e.to.number for e in self.of(SendText)]

    @property
    def news(self) -> list[str]:
        return [e.news.state for e in self.of(TellHunter)]

    @property
    def reasons(self) -> list[str]:
        return [e.reason for e in self.of(AskCoordinator)]


def test_an_offer_that_did_not_arrive_goes_to_the_next_nearest() -> None:
    story = Story()
    mark = story.pickup.mark
    story.at += 2 * MINUTE
    story.feed(Unreached(story.at, "near", NOON))
    assert [(o.staff_id, o.answer) for o in story.pickup.offers] == [
        ("near", "unreached"),
        ("mid", ""),
    ]
    assert (story.told, story.news) == ([NUMBERS["mid"]], [])
    assert story.pickup.mark > mark
    assert story.pickup.due == story.at + 30 * MINUTE
    story.feed(OfferLapsed(NOON + 30 * MINUTE, mark))
    assert story.pickup.refused == "stale"
    story.says("near", "yes")
    assert story.pickup.staff_id == "near", "who has it after all may still say yes"


def test_what_is_said_of_an_offer_that_was_answered_changes_nothing() -> None:
    story = Story().says("near", "yes")
    before = story.pickup
    assert story.feed(Unreached(NOON, "near", NOON)).effects == ()
    assert replace(story.pickup, refused="") == before


def test_from_the_first_offer_to_the_laboratory() -> None:
    story = Story()
    assert story.pickup.state == "offered"
    assert story.told == [NUMBERS["near"]]
    assert story.of(SendText)[0].kind == "offer"
    assert story.of(WaitFor) == [WaitFor(NOON + 30 * MINUTE, story.pickup.mark)]
    story.says("near", "yes", "by 4")
    assert (story.pickup.state, story.pickup.staff_id) == ("taken", "near")
    news = story.of(TellHunter)[0].news
    assert (news.state, news.staff_name, news.staff_number, news.words) == (
        "taken",
        "Ada Birch",
        NUMBERS["near"],
        "by 4",
    )
    assert story.of(WaitFor)[0].due == NOON + 2160 * MINUTE
    story.says("near", "collected")
    assert story.pickup.state == "collected"
    assert story.news == ["collected"]
    assert story.of(WaitFor)[0].due == NOON + 2880 * MINUTE
    story.says("near", "handed_in")
    assert (story.pickup.state, story.pickup.due, story.news) == ("handed_in", None, ["handed_in"])


def test_no_and_silence_go_to_the_next_nearest() -> None:
    story = Story().says("near", "no")
    assert story.told == [NUMBERS["near"], NUMBERS["mid"]]
    story.lapses()
    assert [o.answer for o in story.pickup.offers] == ["no", "lapsed", ""]
    assert story.told == [NUMBERS["far"]]
    story.lapses()
    assert story.pickup.state == "with_coordinator"
    assert story.reasons == ["nobody_took_it"]
    assert story.news == ["with_coordinator"]


def test_offers_end_where_the_programme_says() -> None:
    rows = "".join(f"x{n},Staff {n},field,0491 570 156,-36.9,147.{n},300,,\n" for n in range(1, 8))
    story = Story(on=programme("id,name,role,phone,lat,lon,reach_km,days,hours\n" + rows))
    for _ in range(PROGRAMME.head.pickup.offers_before_coordinator):
        assert story.pickup.state == "offered"
        story.lapses()
    assert story.reasons == ["nobody_took_it"]


@pytest.mark.parametrize(("hours", "minutes"), [(0, 30), (9, 60), (8, 30)])
def test_an_offer_stands_longer_at_night(hours: int, minutes: int) -> None:
    """12:00 and 20:00 are day, 21:00 is night by the local clock."""
    at = NOON + timedelta(hours=hours)
    story = Story(at)
    assert story.pickup.due == at + minutes * MINUTE


def test_nobody_on_duty_waits_for_the_first_and_tells_the_coordinator() -> None:
    at = NOON + timedelta(hours=11)  # 23:00; the first comes on duty at 05:00.
    story = Story(at)
    assert story.pickup.state == "waiting"
    assert story.pickup.due == at + timedelta(hours=6)
    assert story.reasons == ["nobody_on_duty"]
    assert [(e.news.state, e.news.words) for e in story.of(TellHunter)] == [("waiting", "05:00")]
    story.lapses()
    assert story.told == [NUMBERS["mid"]]
    assert story.of(SettleReview) == [SettleReview(("nobody_on_duty",))]


def test_nobody_for_long_or_in_reach_is_the_coordinators() -> None:
    head, *rows = programme_rows()
    weekdays = programme("\n".join([head, rows[2]]) + "\n")
    friday_night = NOON + timedelta(days=2, hours=8)
    assert Story(friday_night, weekdays).reasons == ["nobody_on_duty"]
    desk_only = programme("\n".join([head, rows[3]]) + "\n")
    story = Story(NOON, desk_only)
    assert (story.pickup.state, story.reasons) == ("with_coordinator", ["nobody_in_reach"])


def programme_rows() -> list[str]:
    return PROGRAMME.files["staff.csv"].strip().split("\n")


def test_two_say_yes_and_one_gets_it() -> None:
    story = Story().lapses().says("near", "yes")
    assert story.pickup.staff_id == "near"
    assert set(story.told) == {NUMBERS["near"], NUMBERS["mid"]}
    story.says("mid", "yes")
    assert (story.pickup.staff_id, story.pickup.refused) == ("near", "taken_by_other")
    assert story.told == [NUMBERS["mid"]]
    assert "Ada Birch" in story.of(SendText)[0].body


def test_a_late_yes_is_welcome_while_the_coordinator_searches() -> None:
    story = Story().lapses().lapses().lapses().says("mid", "yes")
    assert (story.pickup.state, story.pickup.staff_id) == ("taken", "mid")
    assert story.of(SettleReview) == [SettleReview(("nobody_took_it",))]


def test_only_the_asked_may_take_it() -> None:
    story = Story().says("far", "yes")
    assert (story.pickup.state, story.pickup.refused) == ("offered", "not_offered")


def test_taken_and_never_collected_asks_the_coordinator_once() -> None:
    story = Story().says("near", "yes").lapses()
    assert (story.pickup.state, story.reasons) == ("taken", ["not_collected_yet"])
    assert not story.of(WaitFor)
    story.says("near", "collected")
    assert story.of(SettleReview) == [SettleReview(("not_collected_yet",))]
    assert story.lapses().reasons == ["not_handed_in"]


def test_given_back_goes_on_to_the_next_and_the_hunter_hears() -> None:
    story = Story().says("near", "yes").says("near", "no")
    assert story.pickup.open_offer is not None
    assert story.pickup.open_offer.staff_id == "mid"
    assert (story.pickup.staff_id, story.news) == ("", ["given_back"])


def test_one_given_it_by_hand_who_refuses_is_not_asked_again() -> None:
    story = Story().feed(Assigned(NOON, "Di", "far"))
    assert (story.pickup.staff_id, story.news) == ("far", ["taken"])
    assert set(story.told) == {NUMBERS["far"], NUMBERS["near"]}
    story.says("far", "no").says("mid", "no")
    assert story.pickup.state == "with_coordinator"


def test_not_there_is_the_coordinators_with_the_words() -> None:
    story = Story().says("near", "yes").says("near", "not_there", "freezer is empty")
    assert story.pickup.state == "with_coordinator"
    assert story.of(AskCoordinator) == [AskCoordinator("not_there", "freezer is empty")]
    assert story.news == ["not_there"]
    assert story.says("near", "yes").pickup.refused == "with_the_coordinator"


def test_a_second_holder_is_shown_and_changes_nothing() -> None:
    story = Story().lapses().says("mid", "yes").says("near", "collected", "have it")
    assert (story.pickup.staff_id, story.pickup.refused) == ("mid", "two_hold_it")
    assert story.of(AskCoordinator) == [AskCoordinator("two_hold_it", "Ada Birch: have it")]


@pytest.mark.parametrize(("by", "news"), [("hunter", []), ("Di", ["called_off"])])
def test_called_off_tells_staff_and_not_the_hunter_who_did_it(by: str, news: list[str]) -> None:
    story = Story().says("near", "yes").feed(CalledOff(NOON, by, "dog ate it"))
    assert (story.pickup.state, story.told, story.news) == ("called_off", [NUMBERS["near"]], news)


def test_a_collected_head_is_called_off_by_a_person_only() -> None:
    story = Story().says("near", "yes").says("near", "collected").feed(CalledOff(NOON, "hunter"))
    assert (story.pickup.state, story.reasons) == ("collected", ["called_off_after_collected"])
    assert story.feed(CalledOff(NOON, "Di")).pickup.state == "called_off"


def test_a_change_reaches_who_is_asked_or_has_it() -> None:
    new = PickupChanged(NOON, "Tallow Saddle", -36.93, 147.21, "feral pig, pus")
    story = Story().feed(new)
    assert story.told == [NUMBERS["near"]]
    assert "Tallow Saddle" in story.of(SendText)[0].body
    assert story.feed(new).pickup.refused == "nothing_new"


def test_staff_leaving_duty_or_the_roster_mid_offer_breaks_nothing() -> None:
    evening = NOON + timedelta(hours=7, minutes=45)  # 19:45; "near" goes off at 20:00.
    story = Story(evening)
    story.at = evening + 20 * MINUTE
    assert story.says("near", "yes").pickup.staff_id == "near"
    left = Story(evening)
    left.on = programme("\n".join(r for r in programme_rows() if "near" not in r) + "\n")
    assert left.lapses().told == [NUMBERS["mid"]]


def test_where_the_law_detains_no_text_says_collect() -> None:
    story = Story(on=programme(head_may_move=False))
    bodies = [e.body for e in story.of(SendText)]
    for event in ("yes", "collected"):
        story.says("near", event)
        bodies += [e.body for e in story.of(SendText)]
    assert "Visit 7K4T" in bodies[0]
    assert not any("collect" in b.lower() or "head" in b.lower() for b in bodies)


# ------------------------------------------------------------------------------- the table

OPEN = Offer("mid", NOON, NOON + 30 * MINUTE)
GONE = Offer("near", NOON, NOON + 30 * MINUTE, "lapsed")
BASE = replace(pickup_of("7K4T", ORDER), offers=(GONE,), mark=4, due=NOON + MINUTE)
STATES: dict[str, Pickup] = {
    "waiting": replace(BASE, state="waiting"),
    "offered": replace(BASE, state="offered", offers=(GONE, OPEN)),
    "taken": replace(BASE, state="taken", staff_id="mid"),
    "collected": replace(BASE, state="collected", staff_id="mid"),
    "with_coordinator": replace(
        BASE, state="with_coordinator", due=None, reviews=("nobody_took_it",)
    ),
    "handed_in": replace(BASE, state="handed_in", staff_id="mid", due=None),
    "called_off": replace(BASE, state="called_off", due=None),
}


def event_of(kind: str, pickup: Pickup) -> PickupEvent:
    if kind == "opened":
        return Opened(NOON)
    if kind == "lapsed":
        return OfferLapsed(NOON, pickup.mark)
    if kind == "unreached":
        return Unreached(NOON, "mid", NOON)
    if kind == "assigned":
        return Assigned(NOON, "Di", "far")
    if kind == "called_off":
        return CalledOff(NOON, "Di")
    if kind == "changed":
        return PickupChanged(NOON, "elsewhere", -36.9, 147.2)
    if kind == "brought_in":
        return BroughtIn(NOON, "left it at the depot", "Kerrin Flat Depot")
    staff_id = "near" if kind.endswith("_other") else next(iter(pickup.with_whom), "near")
    return FieldReply(NOON, staff_id, kind.removesuffix("_other"))


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("kind", KINDS)
def test_every_state_meets_every_event(state: str, kind: str) -> None:
    before = STATES[state]
    if (
        not kind.endswith("_other")
        and kind not in ("opened", "lapsed", "unreached", "assigned")
        and (isinstance(event_of(kind, before), FieldReply) and not before.with_whom)
    ):
        kind += "_other"  # Nobody has it, so that every answer comes from somebody else.
    after, effects = move(before, event_of(kind, before), ROSTER, PROGRAMME, DIALOG)
    step = TABLE[before.state].get(kind)
    if step is None:
        named = {MISSES[before.state], OWN_MISSES.get(before.state), "stale"}
        assert after.refused in named
        assert replace(after, refused="") == before
    else:
        assert after.state in step.to
        assert after != before or after.refused
    if isinstance(event_of(kind, before), FieldReply):
        assert any(isinstance(e, SendText) for e in effects), "whoever answers is answered"


def test_the_table_is_whole() -> None:
    assert set(TABLE) == set(MISSES) == set(STATES)
    for state, row in TABLE.items():
        assert set(row) <= set(KINDS)
        assert not {"yes", "no"} & set(row) or state in ("offered", "taken", "collected")
        late = {"collected_other", "handed_in_other", "brought_in"}
        assert bool(row.keys() - late) == (state in LIVE)
    assert set(MISSES.values()) | set(OWN_MISSES.values()) <= set(PLACEHOLDERS)
    assert len(set(REASONS)) == len(REASONS)


@pytest.mark.parametrize(
    ("event", "why"),
    [
        (OfferLapsed(NOON, 3), "stale"),
        (Unreached(NOON, "near", NOON), "stale"),
        (Unreached(NOON, "mid", NOON - MINUTE), "stale"),
        (FieldReply(NOON, "ghost", "yes"), "unknown_staff"),
        (Assigned(NOON, "Di", "ghost"), "unknown_staff"),
    ],
)
@pytest.mark.parametrize("state", STATES)
def test_what_counts_for_nothing(state: str, event: PickupEvent, why: str) -> None:
    after, effects = move(STATES[state], event, ROSTER, PROGRAMME, DIALOG)
    assert (after, effects) == (replace(STATES[state], refused=why), ())


def test_opened_twice_is_refused() -> None:
    assert Story().feed(Opened(NOON)).pickup.refused == "already_open"


# -------------------------------------------------------------------------- the stored shape

FROZEN_1 = (
    b'{"code":"7K4T","lat":-36.87,"lon":147.15,"accuracy_m":50.0,"place_words":"Brindle Hut",'
    b'"details":"pig","contact":"0491 570 110","version":1,"state":"offered","offers":'
    b'[{"staff_id":"near","at":"2026-11-25T01:00:00Z","until":"2026-11-25T01:30:00Z",'
    b'"answer":"","km":9.0,"minutes":9.0}],"staff_id":"","words":"","mark":1,'
    b'"due":"2026-11-25T01:30:00Z","reviews":[],"refused":"","opened_at":"2026-11-25T01:00:00Z"}'
)


def test_the_first_stored_shape_is_still_read() -> None:
    pickup = load(FROZEN_1)
    assert pickup.with_whom == ("near",)
    assert load(dump(pickup)) == pickup


@pytest.mark.parametrize(
    "stored", [b"{}", b"", FROZEN_1.replace(b'"version":1', f'"version":{VERSION + 1}'.encode())]
)
def test_what_is_no_pickup_is_refused(stored: bytes) -> None:
    with pytest.raises(PickupStateError):
        load(stored)


@pytest.mark.parametrize(
    ("terms", "reason"),
    [
        ({"most_jobs": 1}, "nobody_free"),
        ({"fetches": ("deer",)}, "nobody_free"),
        ({"reach_km": 0.1}, "nobody_in_reach"),
        ({"days": ()}, "nobody_on_duty"),
    ],
)
def test_why_nobody_was_asked(terms: dict[str, object], reason: str) -> None:
    people = Roster(tuple(replace(m, **terms) for m in PROGRAMME.roster), dict.fromkeys(NUMBERS, 1))
    order = replace(ORDER, species="pig")
    pickup, effects = move(pickup_of("7K4T", order), Opened(NOON), people, PROGRAMME, DIALOG)
    assert pickup.state == "with_coordinator"
    assert [e.reason for e in effects if isinstance(e, AskCoordinator)] == [reason]


def test_a_whole_carcase_goes_to_who_can_carry_it() -> None:
    people = Roster(tuple(replace(m, whole_carcase=m.id == "far") for m in PROGRAMME.roster))
    order = replace(ORDER, whole_carcase=True)
    pickup, _ = move(pickup_of("7K4T", order), Opened(NOON), people, PROGRAMME, DIALOG)
    assert pickup.with_whom == ("far",)
