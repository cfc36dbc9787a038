"""Tooth states against published tables.

Wild pig: the union of Matschke 1967 (abstract), the German hunters' table (sauen.de) and that of
the Province of Sondrio (studylibit.com/doc/7495412), state by state; the union is arithmetic. New
Zealand: Clarke et al. 1992 (abstract). Red deer: Azorit et al. 2002 (abstract). White-tailed deer:
Severinghaus 1949 as reproduced in state handouts.
"""

from __future__ import annotations

from itertools import product

import pytest

from bot.evidence.ageing import (
    CANT_TELL,
    Age,
    NoAge,
    Teeth,
    TeethError,
    age_by_teeth,
    age_in_laboratory,
    best_age,
    load_teeth,
    state_interval,
)
from bot.shipped import dialog_files

TEXT = dialog_files()["teeth.toml"]


@pytest.fixture(scope="module")
def teeth() -> Teeth:
    return load_teeth(TEXT)


PIG = [
    # molars, last premolar, front, union in months, lower bound where teeth come earlier
    ("none", "three", "milk", 0, 6, 0),
    ("first", "three", "milk", 4, 12, 2),
    ("first", "three", "corner", 7, 16, 5),
    ("second", "three", "corner", 10, 18, 8),
    ("first", "three", "middle", 10, 18, 8),
    ("second", "two", "middle", 14, 23, 12),
    ("second", "two", "second", 18, 28, 16),
    ("third_first_cusp", "two", "second", 18, 28, 16),
    ("third_second_cusp", "two", "second", 21, 36, 19),
    ("third_complete", "two", "second", 26, None, 24),
]


@pytest.mark.parametrize(("molars", "premolar", "front", "lower", "upper", "shifted"), PIG)
def test_wild_pig(teeth, molars, premolar, front, lower, upper, shifted):
    answers = {"molars": molars, "last_premolar": premolar, "front": front}
    age = age_by_teeth(teeth, "pig", answers)
    assert (age.lower, age.upper) == (lower, upper)
    early = age_by_teeth(teeth, "pig", answers, "new_zealand")
    assert (early.lower, early.upper) == (shifted, upper)
    assert any("Clarke" in source for source in early.sources)


RED = [
    ("none", "milk", 0, 6),
    ("first", "milk", 6, 18),
    ("first", "one", 14, 18),
    ("second", "two", 17, 25),
    ("second", "four", 19, 32),
    ("third_emerging", "four", 31, 44),
    ("third_complete", "four", 42, None),
]


@pytest.mark.parametrize(("molars", "front", "lower", "upper"), RED)
def test_red_deer(teeth, molars, front, lower, upper):
    """M1 6; I1 14-15; I2 17-18; I3 and I4 19-25; M3 31-32, complete 42-44 months."""
    age = age_by_teeth(teeth, "red_deer", {"molars": molars, "front": front})
    assert (age.lower, age.upper) == (lower, upper)


def test_a_late_front_tooth_of_a_red_deer_is_no_contradiction(teeth):
    """18.75 % had a delayed I1: M2 is through and all front teeth are milk."""
    age = age_by_teeth(teeth, "red_deer", {"molars": "second", "front": "milk"})
    assert age.states == ("m1",)


PRINTED = [
    # cheek teeth, third, wear, the age that the handouts print, in months
    ("four_or_five", "three_cusps", "none", 6),
    ("six", "three_cusps", "none", 17),
    ("six", "two_coming", "none", 18),
    ("six", "two_new", "none", 19),
    ("six", "two_worn", "none", 30),
    ("six", "two_worn", "fourth", 42),
    ("six", "two_worn", "fifth", 54),
    ("six", "two_worn", "sixth", 66),
    ("six", "two_worn", "fourth_smooth", 78),
    ("six", "two_worn", "fifth_smooth", 90),
    ("six", "two_worn", "sixth_smooth", 102),
]


@pytest.mark.parametrize(("count", "third", "wear", "printed"), PRINTED)
def test_white_tailed_deer(teeth, count, third, wear, printed):
    answers = {"cheek_teeth": count, "third": third, "wear": wear}
    age = age_by_teeth(teeth, "white_tailed_deer", answers)
    assert age.lower < printed
    assert age.upper is None or age.upper > printed
    if printed >= 42:
        assert age.lower <= printed - 12, "wear errs by a year at least (rule of thumb)"
        assert age.upper is None or age.upper >= printed + 12


def test_two_cusps_end_the_doubt_between_fawn_and_yearling(teeth):
    """Two websites put this change at two years or more; the handouts' table has 17-19 months."""
    age = age_by_teeth(teeth, "white_tailed_deer", {"third": "two_coming"})
    assert age.lower < 18 < age.upper


@pytest.mark.parametrize("species", ["pig", "red_deer", "white_tailed_deer"])
def test_bounds_never_fall_and_only_the_last_is_open(teeth, species):
    bounds = [state_interval(s) for s in teeth.species[species].states]
    lowers = [low for low, _ in bounds]
    uppers = [high for _, high in bounds]
    assert lowers == sorted(lowers)
    assert uppers[-1] is None
    assert uppers[:-1] == sorted(uppers[:-1])
    assert lowers[0] == 0
    assert all(bounds[i + 1][0] <= bounds[i][1] for i in range(len(bounds) - 1)), "a gap"


@pytest.mark.parametrize("species", ["pig", "red_deer", "white_tailed_deer"])
def test_full_answers_fit_one_state_at_most_and_every_state_can_be_reached(teeth, species):
    table = teeth.species[species]
    keys = [q.key for q in table.questions]
    reached = set()
    for combination in product(*(q.answers for q in table.questions)):
        fitting = [s.key for s in table.states if s.fits(dict(zip(keys, combination, strict=True)))]
        assert len(fitting) <= 1, (combination, fitting)
        reached |= set(fitting)
    assert reached == {s.key for s in table.states}


@pytest.mark.parametrize("species", ["pig", "red_deer", "white_tailed_deer"])
def test_an_answer_only_ever_narrows(teeth, species):
    table = teeth.species[species]
    keys = [q.key for q in table.questions]
    for combination in product(*(q.answers for q in table.questions)):
        full = age_by_teeth(teeth, species, dict(zip(keys, combination, strict=True)))
        if isinstance(full, NoAge):
            continue
        for left_out in keys:
            answers = {k: a for k, a in zip(keys, combination, strict=True) if k != left_out}
            wide = age_by_teeth(teeth, species, answers | {left_out: CANT_TELL})
            assert wide.lower <= full.lower
            assert wide.upper is None or (full.upper is not None and wide.upper >= full.upper)


def test_a_missing_first_premolar_is_no_evidence(teeth):
    answers = {"molars": "second", "last_premolar": "two", "front": "middle"}
    without = age_by_teeth(teeth, "pig", answers)
    for seen in ("missing", "there"):
        assert age_by_teeth(teeth, "pig", answers | {"first_premolar": seen}) == without
    assert age_by_teeth(teeth, "pig", {"first_premolar": "missing"}).why == "nothing_seen"


@pytest.mark.parametrize(
    ("species", "answers", "why", "choice"),
    [
        ("fallow_deer", {"molars": "first"}, "unknown_species", "pig"),
        ("deer", {"molars": "first"}, "which_species", "red_deer"),
        ("pig", {"molars": "fourth"}, "unknown_answer", "third_complete"),
        ("pig", {"tusks": "long"}, "unknown_answer", "last_premolar"),
        ("pig", {}, "nothing_seen", "front"),
        ("pig", {"molars": CANT_TELL}, "nothing_seen", "front"),
        ("pig", {"molars": "none", "last_premolar": "two"}, "contradiction", "molars"),
    ],
)
def test_what_cannot_be_aged_says_why(teeth, species, answers, why, choice):
    age = age_by_teeth(teeth, species, answers)
    assert isinstance(age, NoAge)
    assert age.why == why
    assert teeth.why[age.why].endswith((".", ":"))
    assert choice in age.choices


def test_a_laboratory_overrides_with_its_own_interval(teeth):
    by_teeth = age_by_teeth(teeth, "pig", {"molars": "third_complete"})
    by_laboratory = age_in_laboratory("pig", 30, 54)
    assert best_age(by_teeth, by_laboratory) == by_laboratory
    assert best_age(by_teeth, None) == by_teeth
    assert best_age(NoAge("nothing_seen"), by_laboratory).upper == 54
    assert isinstance(by_teeth, Age)
    assert by_teeth.upper is None
    with pytest.raises(ValueError, match="no interval"):
        age_in_laboratory("pig", 30, 12)


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ("tables = { azorit = [0, 6] }", "tables = { nobody = [0, 6] }", "no source 'nobody'"),
        ("tables = { azorit = [0, 6] }", "tables = { azorit = [6, 0] }", "earliest, latest"),
        ('when = [{ molars = ["none"], front = ["milk"] }]', "when = [{}]", "when must name"),
        ('molars = ["none"], front = ["milk"]', 'molars = ["tenth"], front = ["milk"]', "'tenth'"),
        ("version = 1", "version = 1\nmore = 2", "more"),
        ("contradiction = ", "contradictions = ", "why: needs a sentence each"),
    ],
)
def test_a_faulty_table_names_its_key(old, new, named):
    assert old in TEXT
    with pytest.raises(TeethError, match=named):
        load_teeth(TEXT.replace(old, new, 1))
