"""UTM, MGRS and USNG: published examples, zone exceptions, the letter S, and the mgrs library.

Sources: FGDC-STD-011-2001; DMA TM 8358.1; geodesy by C. Veness (MIT), utm-mgrs-tests.js; random
points against the mgrs library (GEOTRANS). Zone exceptions as mgrs and utm agree on them.
"""

from __future__ import annotations

import random

import pytest
from place_frame import claims, frame, metres, off, place, transformer, why

from bot.reading.utm import decode_square
from bot.reading.values import Place, Unclear

mgrs = pytest.importorskip("mgrs", reason="the reference library for the lettered squares")

WASHINGTON = (38.88946731, -77.03524022)

READ = [
    # geodesy, utm-mgrs-tests.js: zone and hemisphere
    ("31 N 448251.795 5411932.678", 48.8582, 2.2945),
    ("56 S 334873.199 6252266.092", -33.857, 151.215),
    ("23 S 683466.254 7460687.433", -22.9519, -43.2106),
    ("30 S 722561.736479 9889402.027476", -1.0, -1.0),
    ("34 S 683473 4942631", -45.6456, 23.3545),
    ("08 N 453580 2594272", 23.4578, -135.4545),
    ("57 N 450793 8586116", 77.345, 156.9876),
    ("30 N 808084 14385", 0.13, -0.2324),
    # ICSM GDA2020 Technical Manual, Flinders Peak: 5796489 cannot be band S, so S is south
    ("55 S 273741 5796489", -37.95103342, 144.42486789),
    ("55H 273741 5796489", -37.95103342, 144.42486789),
    ("UTM zone 55 south 273741 5796489", -37.95103342, 144.42486789),
    ("55H E273741 N5796489", -37.95103342, 144.42486789),
    ("273741mE 5796489mN zone 55H", -37.95103342, 144.42486789),
    # FGDC-STD-011-2001: zone 18, E 323483.168 N 4306479.498
    ("18 north 323483.168 4306479.498", *WASHINGTON),
    # MGRS, geodesy
    ("31UDQ4825111932", 48.8582, 2.2945),
    ("31U DQ 48251 11932", 48.8582, 2.2945),
    ("56HLH3487352266", -33.857, 151.215),
    ("23KPQ8346660687", -22.9519, -43.2106),
    ("32VKN9750800645", 60.39135, 5.3249),
    ("18SUJ2348306479", *WASHINGTON),
    ("18S UJ 23483 06479", *WASHINGTON),
]


@pytest.mark.parametrize(("text", "lat", "lon"), READ)
def test_published_points(text: str, lat: float, lon: float) -> None:
    for said in (text, text.lower(), text + ".", f"2 pigs 80kg at {text} call 0491 570 156"):
        assert off(place(said), lat, lon) < 6


@pytest.mark.parametrize(
    ("text", "size"),
    [("18SUJ2348306479", 1), ("18SUJ23480647", 10), ("18SUJ234064", 100), ("18SUJ2306", 1_000),
     ("18SUJ20", 10_000)],
)  # fmt: skip
def test_the_standards_own_precisions(text: str, size: float) -> None:
    """FGDC-STD-011-2001: one point at every precision; it lies in each square."""
    got = place(text)
    assert got.accuracy_m == pytest.approx(max(5.0, size / 2**0.5), rel=0.01)
    assert off(got, *WASHINGTON) <= got.accuracy_m + 0.5


def test_the_place_of_a_square_is_its_centre() -> None:
    """18SUJ234064 is the square of corner 323400, 4306400; mgrs 1.6 gives its centre too."""
    to = transformer(32618, 4326)
    lon, lat = to.transform(323450, 4306450)
    assert off(place("18SUJ234064"), lat, lon) < 0.01
    assert off(place("18SUJ234064"), *mgrs.MGRS().toLatLon("18SUJ234064")) < 0.01


def test_a_zone_of_one_figure() -> None:
    assert place("4QFJ12345678") == place("04QFJ12345678")
    assert place("4Q 616000 2356000") == place("04Q 616000 2356000")


@pytest.mark.parametrize("text", ["18SUU8362601432", "18SUT8362601432"])
def test_a_square_outside_its_band_is_asked_about(text: str) -> None:
    """DMA TM 8358.1 lettered these for NAD27; in WGS84 the square is not in band S, and the mgrs
    library answers 47.856 N without a word."""
    assert why(text) == "band_mismatch"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("55K 273741 5796489", "band_mismatch"),
        ("61H 273741 5796489", "no_such_zone"),
        ("61HLH3487352266", "no_such_zone"),
        ("32XNK1234512345", "no_such_zone"),
        ("18SAJ2348306479", "no_such_square"),
        ("18SUJ234830647", "odd_digits"),
        ("18SUJ 2348 06479", "odd_digits"),
    ],
)
def test_impossible_references_are_asked_about(text: str, reason: str) -> None:
    assert why(text) == reason


def test_s_that_is_band_and_hemisphere_is_asked_about_and_both_are_offered() -> None:
    (asked,) = claims("18S 323483 4306479")
    assert isinstance(asked, Unclear)
    assert asked.why == "two_readings"
    lats = sorted(round(c.value.lat, 1) for c in asked.choices if isinstance(c.value, Place))
    assert lats == [-51.4, 38.9]


def test_the_area_tells_which_s_is_meant() -> None:
    virginia = frame((-79.0, 37.0, -75.0, 40.0))
    assert off(place("18S 323483.168 4306479.498", virginia), *WASHINGTON) < 6


def test_a_missing_hemisphere_comes_from_the_area_or_is_asked_about() -> None:
    got = place("zone 55 273741 5796489", frame((144.0, -39.0, 149.0, -35.0)))
    assert off(got, -37.95103342, 144.42486789) < 6
    assert got.assumed == ("south, from the programme's area",)
    assert why("zone 55 273741 5796489") == "no_hemisphere"


ZONES = [
    (60, 4, "32V"), (60, 2.9999, "31V"), (60, 3, "32V"), (55.9999, 3, "31U"), (63.9999, 3, "32V"),
    (64, 3, "31W"), (72, 8.9, "31X"), (72, 9, "33X"), (75, 8, "31X"), (75, 10, "33X"),
    (75, 20, "33X"), (75, 22, "35X"), (75, 32, "35X"), (75, 34, "37X"),
]  # fmt: skip


@pytest.mark.parametrize(("lat", "lon", "zone"), ZONES)
def test_zone_exceptions_of_norway_and_svalbard(lat: float, lon: float, zone: str) -> None:
    code = mgrs.MGRS().toMGRS(lat, lon)
    assert code.startswith(zone)
    assert off(place(code), lat, lon) < 6


def test_three_thousand_random_squares_against_the_mgrs_library() -> None:
    chance, library = random.Random(1), mgrs.MGRS()
    for _ in range(3_000):
        lat, lon = chance.uniform(-79.9, 83.9), chance.uniform(-180, 180)
        figures = chance.randint(2, 5)
        code = library.toMGRS(lat, lon, MGRSPrecision=figures)
        got, reason = decode_square(int(code[:2]), code[2], code[3:5], code[5:])
        assert got is not None, (code, reason)
        assert metres(got.lat, got.lon, lat, lon) <= got.accuracy_m + 1, code


@pytest.mark.parametrize(
    "text", ["3 ewe 45", "4 hen 12", "7 mm 08", "2 pig 12", "30 cal 150", "5 pm 12"]
)
def test_words_after_a_count_are_no_squares(text: str) -> None:
    assert claims(text) == ()


def test_a_count_after_a_glued_reference_is_not_part_of_it() -> None:
    (got,) = claims("18SUJ23480647 2 pigs")
    assert got.heard == "18SUJ23480647"
