"""The span and the band of an infection.

Sources: Nugent, Whitford & Young 2002 (pigs within 6 km, lesions at two months); Truvé & Lemel 2003
(dispersal of pigs by sex and age); Yockney et al. 2013 (deer); Nelson & Mech 1984 (white-tailed).
"""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.evidence.ageing import Age, age_by_teeth, age_in_laboratory, load_teeth
from bot.evidence.sentences import load_sentences
from bot.evidence.window import distance_band, infection_window, months_before
from bot.reading.values import When
from bot.shipped import dialog_files

ZONE = ZoneInfo("Australia/Melbourne")
TEETH = load_teeth(dialog_files()["teeth.toml"])
BOOK = load_sentences(dialog_files()["evidence.toml"])


def day(year: int, month: int, number: int) -> datetime:
    return datetime(year, month, number, tzinfo=ZONE)


KILL = When(day(2026, 11, 14), day(2026, 11, 16))


def aged(lower: float, upper: float | None) -> Age:
    return age_in_laboratory("pig", lower, upper)


def test_the_window_uses_the_upper_bound():
    """A pig aged 10-18 months speaks for the last 18 months (arithmetic)."""
    age = age_by_teeth(
        TEETH, "pig", {"molars": "second", "last_premolar": "three", "front": "middle"}
    )
    assert (age.lower, age.upper) == (10, 18)
    window = infection_window(KILL, age, lag_months=0)
    assert window.start == day(2025, 5, 14)
    assert window.end == day(2026, 11, 16)


def test_the_lag_cuts_the_recent_end_only():
    window = infection_window(KILL, aged(10, 18))
    assert (window.start, window.end) == (day(2025, 5, 14), day(2026, 9, 16))
    assert window.lag_months == 2


def test_an_open_age_leaves_the_window_open():
    assert infection_window(KILL, aged(26, None)).start is None
    assert infection_window(KILL, aged(26, None)).kind == "open"
    assert infection_window(KILL, None).kind == "no_age"


def test_a_life_shorter_than_the_lag_is_no_empty_window():
    window = infection_window(KILL, aged(0, 1.5))
    assert window.lag_months == 0
    assert window.start < window.end


@pytest.mark.parametrize(("upper", "kind"), [(6, "young"), (12, "young"), (18, "old")])
def test_young_and_old(upper, kind):
    assert infection_window(KILL, aged(0, upper)).kind == kind


@pytest.mark.parametrize(
    ("moment", "months", "earlier"),
    [
        (day(2026, 3, 31), 1, day(2026, 2, 28)),
        (day(2024, 3, 31), 1, day(2024, 2, 29)),
        (day(2026, 1, 15), 13, day(2024, 12, 15)),
        (day(2026, 1, 31), 0, day(2026, 1, 31)),
        (day(2026, 1, 31), 0.5, day(2026, 1, 16)),
    ],
)
def test_months_are_those_of_the_calendar(moment, months, earlier):
    assert months_before(moment, months) == earlier


@given(st.floats(0, 200), st.floats(0, 200), st.floats(0, 12))
def test_a_window_never_runs_backwards_and_age_only_widens_it(one, other, lag):
    low, high = sorted((one, other))
    young = infection_window(KILL, aged(0, low), lag)
    old = infection_window(KILL, aged(0, high), lag)
    assert young.start <= young.end <= KILL.latest
    assert old.start <= young.start


def band(species, sex="", upper=None):
    return distance_band(BOOK.ranges, BOOK.several, species, sex, aged(0, upper))


@pytest.mark.parametrize(
    ("species", "sex", "upper", "near", "wide"),
    [
        ("pig", "male", 9, 6.0, 6.0),
        ("pig", "male", 18, 6.0, 16.6),
        ("pig", "female", 18, 6.0, 6.0),
        ("pig", "", 18, 6.0, 16.6),
        ("pig", "male", None, 6.0, 16.6),
        ("white_tailed_deer", "male", 30, 9.6, 9.6),
        ("white_tailed_deer", "female", 30, 9.6, 14.5),
        ("white_tailed_deer", "female", 6, 9.6, 9.6),
        ("red_deer", "male", 30, 3.1, None),
        ("deer", "", None, 9.6, 14.5),
        ("possum", "", None, None, None),
    ],
)
def test_band_by_species_sex_and_age(species, sex, upper, near, wide):
    found = band(species, sex, upper)
    assert (found.near, found.wide) == (near, wide)


def test_every_distance_has_a_source():
    assert all(len(r.source) > 10 and r.km > 0 for r in BOOK.ranges)
    assert len(band("pig", "male", 18).sources) == 3
