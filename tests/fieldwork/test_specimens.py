"""Who has a head, from when, and in what state: stories of trails, and what must always hold."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.fieldwork.custody import (
    HANDED_IN,
    HUNTER,
    LABORATORY,
    Decided,
    HandedOver,
    JawReleased,
    LabSaid,
    Made,
    Settled,
)
from bot.fieldwork.specimens import (
    REASONS,
    Trail,
    next_container,
    open_questions,
    outcome_of,
    record,
    root_of,
    told,
)

ROOT = "K7R-4TR"
NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def over(giver: str, receiver: str, hours: float = 0, code: str = ROOT, **more) -> HandedOver:
    return HandedOver(NOON + hours * HOUR, "text", code, giver, receiver, **more)


def trail(*events) -> Trail:
    return told(ROOT, events)


def reasons(found) -> list[str]:
    return [f.reason for f in found]


COLLECTED = over(HUNTER, "f1", state="chilled", cold_since=NOON - 20 * HOUR)


def test_a_whole_road_has_no_finding() -> None:
    road = trail(
        COLLECTED, over("f1", HANDED_IN, 5), LabSaid(NOON + 9 * HOUR, "c1", ROOT, "received")
    )
    (head,) = road.specimens
    assert (head.holder, head.status, head.state) == (LABORATORY, "received", "chilled")
    assert head.cold_since == NOON - 20 * HOUR
    assert road.findings == ()
    assert open_questions(road) == ()


def test_a_trail_that_does_not_begin_with_the_hunter_has_a_gap() -> None:
    assert reasons(trail(over("f1", HANDED_IN)).findings) == ["custody_gap"]


@pytest.mark.parametrize(
    ("events", "finding", "holders"),
    [
        ([COLLECTED, over("", "f2", 1)], "custody_two_hold", ("f1", "f2")),
        ([COLLECTED, over("f2", HANDED_IN, 1)], "custody_two_hold", ("f1", HANDED_IN)),
        ([COLLECTED, over("f1", "", 1)], "custody_gap", ()),
        ([COLLECTED, over("f1", "f2", -1)], "custody_out_of_order", ("f2",)),
        ([COLLECTED, over("f1", "f2", 1, f"{ROOT}/4")], "custody_no_such", ("f1",)),
        ([COLLECTED, LabSaid(NOON, "c", ROOT, "received")], "custody_gap", (LABORATORY,)),
        ([COLLECTED, LabSaid(NOON, "c", ROOT, "missing")], "specimen_missing", ("f1",)),
        ([COLLECTED, over("f1", HANDED_IN), LabSaid(NOON, "c", ROOT, "rejected")],
         "specimen_rejected", (LABORATORY,)),
        ([COLLECTED, JawReleased(NOON, "c", ROOT, "sent"), over(HUNTER, "f2", 2)],
         "custody_after_release", (HUNTER,)),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_a_finding_and_is_kept(events, finding, holders) -> None:
    story = trail(*events)
    assert reasons(story.findings) == [finding]
    assert story.specimens[0].holders == holders
    assert story.events == tuple(events)


def test_a_person_settles_who_has_it() -> None:
    torn = trail(COLLECTED, over("", "f2", 1))
    assert reasons(open_questions(torn)) == ["custody_two_hold"]
    whole, found = record(torn, Settled(NOON + 2 * HOUR, "ines", ROOT, "f2", "rang both"))
    assert found == ()
    assert whole.specimens[0].holder == "f2"
    assert open_questions(whole) == ()
    assert reasons(whole.findings) == ["custody_two_hold"], "what was found is not unfound"


def test_the_holder_who_says_so_again_changes_nothing() -> None:
    twice = trail(COLLECTED, over("", "f1", 1))
    assert twice.specimens[0].holders == ("f1",)
    assert twice.findings == ()


def test_containers_are_made_of_the_head_and_go_with_it_or_alone() -> None:
    story = trail(COLLECTED)
    for number, part in enumerate(("nodes", "jaw"), 1):
        code = next_container(story)
        assert code == f"{ROOT}/{number}"
        story, found = record(story, Made(NOON + HOUR, "f1", code, part))
        assert found == ()
    story, _ = record(story, over("f1", HANDED_IN, 2, f"{ROOT}/1"))
    assert [s.holder for s in story.specimens] == ["f1", HANDED_IN, "f1"]
    story, found = record(story, over("f1", HANDED_IN, 3))
    assert [s.holder for s in story.specimens] == [HANDED_IN] * 3
    assert found == ()
    assert story.specimen(f"{ROOT}/1").since == NOON + 2 * HOUR
    assert {root_of(s.code) for s in story.specimens} == {ROOT}


def test_nine_containers_are_the_most() -> None:
    story = trail(COLLECTED)
    for _ in range(9):
        story, _ = record(story, Made(NOON, "f1", next_container(story)))
    with pytest.raises(LookupError):
        next_container(story)


def test_a_head_without_a_label_is_either_ofs_until_a_person_decides() -> None:
    found = ("K7R-4TR", "M4C-9RJ")
    story = told("HJW-22X", (Made(NOON, "ines", "HJW-22X", holder="f1", either_of=found),))
    assert story.specimens[0].find == ""
    assert reasons(open_questions(story)) == ["either_of"]
    positive = LabSaid(NOON, "ines", "HJW-22X", "final", outcome="positive")
    story, _ = record(story, positive)
    assert {outcome_of(story.specimens, code) for code in found} == {""}, "nobody's result yet"
    story, _ = record(story, Decided(NOON, "ines", "HJW-22X", found[1]))
    assert outcome_of(story.specimens, found[1]) == "positive"
    assert outcome_of(story.specimens, found[0]) == ""
    assert open_questions(story) == ()


def lab(code: str, status: str, outcome: str = "") -> LabSaid:
    return LabSaid(NOON + HOUR, "ines", code, status, outcome=outcome)


@pytest.mark.parametrize(
    ("said", "outcome"),
    [
        ([("/1", "received", "")], ""),
        ([("/1", "provisional", "positive")], ""),
        ([("/1", "final", "positive"), ("/2", "received", "")], "positive"),
        ([("/1", "final", "negative"), ("/2", "received", "")], ""),
        ([("/1", "final", "negative"), ("/2", "provisional", "negative")], ""),
        ([("/1", "final", "negative"), ("/2", "final", "not_testable")], "negative"),
        ([("/1", "final", "not_testable"), ("/2", "missing", "")], "not_testable"),
        ([("/1", "final", "negative"), ("/1", "amended", "positive")], "positive"),
        ([("/3", "final", "positive")], ""),
    ],
)
def test_a_finds_result_is_that_of_its_worst_container(said, outcome) -> None:
    """/3 is the jaw, whose age is no result of the disease."""
    made = [Made(NOON, "f1", f"{ROOT}/{n}", p) for n, p in enumerate(("nodes", "tissue", "jaw"), 1)]
    story = trail(COLLECTED, *made, *(lab(ROOT + c, s, o) for c, s, o in said))
    assert outcome_of(story.specimens, ROOT) == outcome


PEOPLE = st.sampled_from(["", HUNTER, "f1", "f2", HANDED_IN, "depot:Kerrin", LABORATORY])
CODES = st.sampled_from([ROOT, f"{ROOT}/1", f"{ROOT}/2", "M4C-9RJ"])
TIMES = st.integers(-5, 50).map(lambda n: NOON + n * HOUR)
EVENTS = st.lists(
    st.one_of(
        st.builds(Made, TIMES, st.just("f1"), CODES, holder=PEOPLE),
        st.builds(HandedOver, TIMES, st.just("text"), CODES, PEOPLE, PEOPLE),
        st.builds(Settled, TIMES, st.just("ines"), CODES, PEOPLE),
        st.builds(Decided, TIMES, st.just("ines"), CODES, CODES),
        st.builds(LabSaid, TIMES, st.just("ines"), CODES,
                  st.sampled_from(["received", "missing", "rejected", "final", "amended"])),
        st.builds(JawReleased, TIMES, st.just("ines"), CODES, st.sampled_from(["kept", "sent"])),
    ),
    max_size=12,
)  # fmt: skip


@given(EVENTS)
def test_a_trail_only_grows_and_hides_nothing(events) -> None:
    story = Trail(ROOT)
    for event in events:
        before = story
        story, found = record(story, event)
        assert story.events == (*before.events, event)
        assert story.findings == (*before.findings, *found)
        assert {f.reason for f in found} <= set(REASONS)
        assert {s.code for s in before.specimens} <= {s.code for s in story.specimens}
    assert len({s.code for s in story.specimens}) == len(story.specimens)
    for s in story.specimens:
        if len(s.holders) == 1:
            continue
        wanted = "custody_two_hold" if s.holders else "custody_gap"
        assert any(f.reason == wanted and f.code == s.code for f in story.findings)
        assert any(f.code == s.code for f in open_questions(story))


@given(EVENTS)
def test_a_trail_told_again_is_the_same_trail(events) -> None:
    story = Trail(ROOT)
    for event in events:
        story, _ = record(story, event)
    assert told(ROOT, tuple(events)) == story


@given(st.lists(PEOPLE.filter(bool), min_size=1, max_size=8, unique=True))
def test_an_honest_chain_of_any_length_has_no_finding(people) -> None:
    chain = [HUNTER, *(p for p in people if p != HUNTER)]
    steps = [over(a, b, n) for n, (a, b) in enumerate(pairwise(chain))]
    story = trail(*steps)
    assert story.findings == ()
    assert all(s.holders == (chain[-1],) for s in story.specimens)
