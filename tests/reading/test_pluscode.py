"""Open Location Codes: rows of google/open-location-code, test_data/*.csv (Apache-2.0)."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from openlocationcode import openlocationcode as olc
from place_frame import ANYWHERE, claims, off, place, why

from bot.reading.page import Page
from bot.reading.pluscode import short_codes
from bot.reading.values import Found, Unclear

FULL = [
    # encoding.csv and decoding.csv
    ("7FG49QCJ+2V", 20.3700625, 2.7821875, 10.5),
    ("7FG49QCJ+2VX", 20.3701125, 2.782234375, 5),
    ("8FVC2222+22", 47.0000625, 8.0000625, 10),
    ("4VCPPQGP+Q9", -41.2730625, 174.7859375, 10),
    ("CPFGJRQQ+3C", 79.6376875, 110.8385625, 10),
    ("6934QPVW+2FVJ", -8.2073825, -37.25383984, 5),
    # padded: 20.35 to 20.4, 2.75 to 2.8
    ("7FG49Q00+", 20.375, 2.775, 4_000),
]


@pytest.mark.parametrize(("code", "lat", "lon", "radius"), FULL)
def test_full_codes(code: str, lat: float, lon: float, radius: float) -> None:
    for said in (code, code.lower(), f"{code}.", f"2 pigs at {code} about 6.30pm, 80kg"):
        got = place(said)
        assert off(got, lat, lon) < 0.2
        assert got.accuracy_m <= radius
    assert place(f"{code}?").notation == "plus code"


@pytest.mark.parametrize("code", ["WC2300+", "G+", "84900000+", "20+20", "85+ kg", "c++", "7FG4+"])
def test_what_is_no_full_code_is_no_place(code: str) -> None:
    """The first three from validityTests.csv."""
    assert not any(isinstance(c, Found) for c in claims(code))


@pytest.mark.parametrize("code", ["8FWC2345+G", "84900000+"])
def test_a_code_of_the_right_length_that_is_invalid_is_asked_about(code: str) -> None:
    got = claims(code)
    assert all(isinstance(c, Unclear) for c in got)


def test_a_lower_case_valid_code() -> None:
    """validityTests.csv: 8fwc2345+ is valid."""
    assert place("8fwc2345+") == place("8FWC2345+")


SHORT = [
    # shortCodeTests.csv: the whole code, the reference place, the short code
    ("9C3W9QCJ+2VX", 51.3708675, -1.217765625, "CJ+2VX"),
    ("9C3W9QCJ+2VX", 51.3852125, -1.217765625, "9QCJ+2VX"),
    ("8FRCXGGG+GG", 47.026, 8.526, "XGGG+GG"),
]


@pytest.mark.parametrize(("whole", "lat", "lon", "short"), SHORT)
def test_short_codes_are_completed_from_a_named_place(
    whole: str, lat: float, lon: float, short: str
) -> None:
    page = Page(f"boar at {short} near the hut, 85 kg")
    (got,) = short_codes(page, ANYWHERE, (lat, lon))
    assert isinstance(got, Found)
    area = olc.decode(whole)
    assert off(got.value, area.latitudeCenter, area.longitudeCenter) < 0.2
    assert got.value.assumed == ("near the named place",)
    assert short not in page.left


def test_short_codes_fall_back_on_the_frames_own_place() -> None:
    scene = replace(ANYWHERE, near=(51.3708675, -1.217765625))
    (got,) = short_codes(Page("CJ+2VX"), scene)
    assert isinstance(got, Found)
    assert got.value.assumed == ("near the programme's area",)


def test_a_short_code_alone_is_asked_about() -> None:
    (got,) = short_codes(Page("pig at 9QCJ+2VX"), ANYWHERE)
    assert isinstance(got, Unclear)
    assert got.why == "short_code"
    assert short_codes(Page("20+20 and 85+ kg, c++"), ANYWHERE) == ()


def test_two_thousand_random_codes_against_the_library() -> None:
    chance = random.Random(3)
    for _ in range(2_000):
        lat, lon = chance.uniform(-89, 89), chance.uniform(-180, 179.9)
        code = olc.encode(lat, lon, chance.choice((10, 11, 12)))
        got = place(code)
        assert off(got, lat, lon) <= got.accuracy_m + 0.1


def test_an_invalid_code_of_full_length() -> None:
    assert why("XXXX2345+22") == "no_such_code"
