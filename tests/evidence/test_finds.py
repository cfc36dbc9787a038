"""From finds to a zone's account: what counts, what is withheld, what is left out."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from msgspec.structs import replace

from bot.evidence.ageing import age_in_laboratory
from bot.evidence.columns import VAGUE, Find, find_of, finds_of
from bot.evidence.finds import living_radius, months_from, sort_finds
from bot.evidence.lesions import Looked
from bot.evidence.programme_account import account_of
from bot.evidence.sentences import load_sentences
from bot.reading.values import Animal, Checked, Place, When
from bot.shipped import dialog_files
from bot.talk.state import Answer, Conversation, Said, Seen

ZONE = ZoneInfo("Australia/Melbourne")
BOOK = load_sentences(dialog_files()["evidence.toml"])
UNTIL = datetime(2026, 11, 26, tzinfo=ZONE)
SIX = Looked({"jaw_node": 2, "throat_node": 2, "ear_node": 2})
NORTH, SOUTH = (-36.7, 147.1), (-37.2, 147.1)


def died(days_ago: int) -> When:
    start = UNTIL - timedelta(days=days_ago)
    return When(start, start + timedelta(days=1))


def find(code="A", at=NORTH, days_ago=10, species="pig", state="clean", outcome="", count=1):
    return Find(code, *at, died(days_ago), Animal(species, "sow", count), state, outcome, SIX)


@pytest.mark.parametrize(
    ("state", "outcome", "species", "kind"),
    [
        ("clean", "", "pig", "looks"),
        ("clean", "", "deer", "looks"),
        ("clean", "positive", "pig", "positives"),
        ("suspect", "positive", "pig", "positives"),
        ("suspect", "", "pig", "pending"),
        ("suspect", "not_testable", "pig", "pending"),
        ("suspect", "negative", "pig", "looks"),
        ("found_dead", "", "pig", "left_out"),
        ("found_dead", "negative", "pig", "looks"),
        ("found_dead", "positive", "pig", "positives"),
        ("clean", "", "possum", "left_out"),
    ],
)
def test_what_a_find_counts_as(state, outcome, species, kind):
    known = sort_finds(BOOK, finds_of([find(state=state, outcome=outcome, species=species)]))
    kinds = {k for k in ("looks", "positives", "pending", "left_out") if len(getattr(known, k))}
    assert kinds == {kind}


def test_a_negative_culture_beats_a_look():
    looked, cultured = sort_finds(BOOK, finds_of([find(), find(outcome="negative")])).se
    assert looked == pytest.approx(13 / 18)
    assert cultured == pytest.approx(18 / 22), "Santos et al. 2010, after re-classification"


def test_the_smallest_published_radius_is_taken():
    assert living_radius(BOOK, "deer") == 3.1
    assert living_radius(BOOK, "pig") == 6.0
    assert living_radius(BOOK, "possum") is None


def talk(**answers) -> Conversation:
    kept = {q: Answer(q, value, "", UNTIL) for q, value in answers.items()}
    return Conversation("A", UNTIL, answers=kept)


PLACE = Place(*NORTH, 50.0, "decimal")
COMPLETE = {"kill_place": PLACE, "when": died(3), "species": Animal("pig", "boar")}


def test_a_talk_becomes_a_find():
    seen = Seen(checked=(Checked("jaw_node", "both"), Checked("lung", "both")), clean=True)
    found = find_of("A", "clean", "", talk(**COMPLETE, seen=seen))
    assert (found.looked.count, found.looked.lungs) == (2, True)
    bare = find_of("A", "clean", "", talk(**COMPLETE, seen=Seen(clean=True)))
    assert bare.looked == VAGUE


@pytest.mark.parametrize("missing", list(COMPLETE))
def test_without_place_day_or_animal_it_is_no_find(missing):
    answers = COMPLETE | {missing: Said(words="not telling")}
    assert find_of("A", "clean", "", talk(**answers)) is None
    without = {k: v for k, v in COMPLETE.items() if k != missing}
    assert find_of("A", "clean", "", talk(**without)) is None


def test_months_are_local():
    evening = datetime(2026, 10, 31, 13, 30, tzinfo=ZoneInfo("UTC"))
    assert months_from(evening, UNTIL, ZONE) == 0, "it is November in Melbourne already"


def accounts(programme, finds, **more):
    return account_of(programme, BOOK, finds_of(finds), UNTIL, cell_km=2.0, **more)


def test_clean_finds_raise_their_own_zone(programme):
    many = [find(str(n), days_ago=5 + n) for n in range(40)]
    north, south = accounts(programme, many)
    assert (north.result.animals, south.result.animals) == (40, 0)
    assert north.result.sse > 0.15
    assert north.result.pfree > south.result.pfree
    assert "40 animals from Tallow North looked clean" in north.sentences[0]
    assert south.sentences == (
        "Nobody has looked at an animal from Tallow South yet. Nothing can be said of it.",
    )
    assert north.first_month == "2026-10"
    assert len(north.result.months) == 2


def test_three_animals_in_one_find_are_three_looks(programme):
    one = accounts(programme, [find(count=3)])[0].result
    three = accounts(programme, [find(c) for c in "ABC"])[0].result
    assert one.animals == three.animals == 3
    assert one.sse == pytest.approx(three.sse)


def test_a_confirmed_positive_withholds_its_zone_only(programme):
    finds = [find("A"), find("B", SOUTH), find("C", NORTH, 40, outcome="positive")]
    ages = {"C": age_in_laboratory("pig", 4, 6)}
    north, south = accounts(programme, finds, ages=ages)
    assert north.result.pfree is None
    assert north.sentences[0].startswith("The disease is confirmed in Tallow North: 1 animal")
    assert south.result.pfree is not None
    (positive,) = north.positives
    assert positive.window.kind == "young"
    assert positive.band.near == 6.0
    assert "This animal was infected between" in positive.sentences[0]


def test_a_suspect_that_waits_withholds_until_its_result(programme):
    waiting = [find("A"), find("B", state="suspect")]
    assert accounts(programme, waiting)[0].result.pfree is None
    assert accounts(programme, waiting)[0].result.pending == 1
    cleared = [waiting[0], replace(waiting[1], outcome="negative")]
    assert accounts(programme, cleared)[0].result.pfree is not None


def test_no_finds_at_all(programme):
    for account in accounts(programme, []):
        assert account.result.sse == 0
        assert account.sentences[0].startswith("Nobody has looked")


def test_what_died_later_does_not_count_yet(programme):
    assert accounts(programme, [find(days_ago=-2)])[0].result.animals == 0


def test_what_is_left_out_is_named(programme):
    assert accounts(programme, [find("P", species="possum")])[0].left_out == ("P",)
