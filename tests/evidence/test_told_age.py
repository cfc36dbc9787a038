"""Sayings about an age: the latest of a kind counts, the laboratory's before the teeth."""

from __future__ import annotations

from datetime import UTC, datetime

import msgspec
import pytest

from bot.evidence.ageing import Age, NoAge, load_teeth
from bot.evidence.told_age import AgeTold, age_told
from bot.shipped import dialog_files

TEETH = load_teeth(dialog_files()["teeth.toml"])
AT = datetime(2026, 11, 25, tzinfo=UTC)
YOUNG = AgeTold(AT, "f1", "teeth", "pig", {"molars": "none"})
YEARLING = AgeTold(AT, "f1", "teeth", "pig", {"molars": "second", "last_premolar": "two"})
CEMENTUM = AgeTold(AT, "lab", "laboratory", "pig", lower=36, upper=48)
BACK = AgeTold(AT, "ines", "withdrawn")


@pytest.mark.parametrize(
    ("told", "lower", "upper"),
    [
        ([YOUNG], 0, 6),  # union of three tables, trade tables in dialogs/teeth.toml
        ([YOUNG, CEMENTUM], 36, 48),
        ([CEMENTUM, YOUNG], 36, 48),
        ([BACK, YOUNG], 0, 6),
    ],
)
def test_what_the_sayings_come_to(told, lower, upper):
    age = age_told(TEETH, told)
    assert isinstance(age, Age)
    assert (age.lower, age.upper) == (lower, upper)


def test_a_later_saying_corrects_an_earlier_one():
    assert age_told(TEETH, [YOUNG, YEARLING]) == age_told(TEETH, [YEARLING])
    assert age_told(TEETH, [YOUNG, YEARLING]) != age_told(TEETH, [YOUNG])


@pytest.mark.parametrize("told", [[], [YOUNG, BACK], [CEMENTUM, BACK], [BACK]])
def test_nothing_stands(told):
    assert age_told(TEETH, told) is None


def test_a_species_without_a_table_says_so():
    told = AgeTold(AT, "f1", "teeth", "possum", {"molars": "none"})
    assert age_told(TEETH, [told]) == NoAge("unknown_species", tuple(TEETH.species))


def test_the_region_is_a_setting():
    at_home = age_told(TEETH, [YEARLING])
    earlier = age_told(TEETH, [YEARLING], "new_zealand")
    assert isinstance(at_home, Age)
    assert isinstance(earlier, Age)
    assert earlier.lower == at_home.lower - 2, "Clarke et al. 1992: one to two months earlier"
    assert earlier.upper == at_home.upper, "the upper bound is the careful one"


@pytest.mark.parametrize("told", [YOUNG, CEMENTUM, BACK])
def test_a_saying_survives_storage(told):
    assert msgspec.json.decode(msgspec.json.encode(told), type=AgeTold) == told
