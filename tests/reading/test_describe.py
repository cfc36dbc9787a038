"""A point in human terms.

Sources: 3 km offsets by pyproj and geographiclib; Karney 2013; the GDA manual's line (from
memory, met here on GRS80's twin to a metre); the first case of geographiclib's own tests.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from landmark_frame import LANDMARKS, MARKS, WORDS

from bot.reading.describe import (
    bearing_and_distance,
    describe_place,
    distance_words,
    name_place,
    nearest_landmark,
    plain_degrees,
    plain_minutes,
)
from bot.reading.landmarks import Landmarks
from bot.reading.offsets import Spot, ahead, rounding_of, sideways
from bot.reading.values import Place

# 3GPP TS 23.038, the default alphabet and its extension, as far as these sentences go.
GSM7 = set("@£$¥èéùìòÇØøÅåÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ÄÖÑÜ§¿äöñüà") | set(
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
)


@pytest.mark.parametrize(
    ("line", "metres", "azimuth"),
    [
        # pyproj and geographiclib.
        ((-41.0, 173.0, -40.9808955, 172.9747940), 3000.0, 315.0),
        ((-41.0, 173.0, -40.9729860, 173.0), 3000.0, 0.0),
        ((-41.0, 173.0, -40.9999945, 173.0356569), 3000.0, 90.0),
        # Karney 2013, J. Geodesy 87:43, the short inverse.
        ((-30.12345, 0.0, -30.12344, 0.00005), 4.944208, 77.04353354),
        # geographiclib/test/test_geodesic.py, first case.
        (
            (35.60777, -139.44815, -11.17491, -69.95921),
            8935244.5604818305,
            111.098748429560326,
        ),
        # GDA2020 Technical Manual: Flinders Peak to Buninyong, 306 52 05.37.
        (
            (-37.95103342, 144.42486789, -37.65282114, 143.92649553),
            54972.271,
            306.868158,
        ),
    ],
)
def test_bearing_and_distance(line: tuple[float, ...], metres: float, azimuth: float):
    way = bearing_and_distance(*line)
    assert way.metres == pytest.approx(metres, abs=0.02)
    assert way.azimuth % 360 == pytest.approx(azimuth, abs=2e-3)


@pytest.mark.parametrize(
    ("azimuth", "metres", "lat", "lon"),
    [
        (315, 3000, -40.9808955, 172.9747940),  # pyproj and geographiclib
        (0, 3000, -40.9729860, 173.0),
        (90, 3000, -40.9999945, 173.0356569),
    ],
)
def test_ahead(azimuth: float, metres: float, lat: float, lon: float):
    assert ahead(Spot(-41.0, 173.0, 0), azimuth, metres) == pytest.approx((lat, lon), abs=1e-7)


def test_ahead_over_a_long_way():
    """Karney 2013: 10,000 km at 30 degrees from 40 N."""
    assert ahead(Spot(40.0, 0.0, 0), 30, 10_000_000) == pytest.approx(
        (41.793310205, 137.844900044), abs=1e-8
    )


@pytest.mark.parametrize(("sector", "metres"), [(22.5, 1171), (11.25, 588)])
def test_how_far_aside_a_compass_word_may_lie(sector: float, metres: float):
    """By trigonometry, at 3 km."""
    assert sideways(3000, sector) == pytest.approx(metres, abs=1)


@pytest.mark.parametrize(
    ("number", "per", "metres"),
    [("3", 1000, 500), ("3.0", 1000, 300), ("3.5", 1000, 350), ("0.5", 1000, 50), ("500", 1, 50),
     ("1500", 1, 150), ("10", 1000, 1000), ("2,5", 1000, 250), ("120", 1, 12)],
)  # fmt: skip
def test_a_number_is_good_to_half_its_last_figure_and_a_tenth(number, per, metres):
    """Half the last figure is arithmetic; the tenth is common practice, no source."""
    assert rounding_of(number, per) == pytest.approx(metres)


@pytest.mark.parametrize(
    ("metres", "words"),
    [(0, "50 m"), (40, "50 m"), (449, "450 m"), (951, "950 m"), (990, "1.0 km"), (3149, "3.1 km"),
     (9949, "9.9 km"), (9960, "10 km"), (23600, "24 km")],
)  # fmt: skip
def test_distance_words(metres: float, words: str):
    assert distance_words(metres) == words


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("en", "3.0 km NW of Orrin Hut"),
        ("es", "a 3,0 km al NO de Orrin Hut"),
        ("fr", "à 3,0 km au NO de Orrin Hut"),
        ("xx", "3.0 km NW of Orrin Hut"),
    ],
)
def test_a_point_is_named_from_the_nearest_landmark(language: str, words: str):
    assert describe_place(-40.9808955, 172.9747940, LANDMARKS, language) == words


def test_a_point_at_a_landmark_is_there():
    assert describe_place(-41.0004, 173.0, LANDMARKS) == "at Orrin Hut"
    assert describe_place(-41.0004, 173.0, LANDMARKS, "es") == "en Orrin Hut"


def test_no_landmark_leaves_the_figures():
    bare = Landmarks.build((), WORDS)
    for marks in (bare, None):
        assert describe_place(-41.0004, 173.0, marks) == "-41.00040, 173.00000"


def test_a_name_that_stands_twice_names_no_other_place():
    found = nearest_landmark(-41.3001, 172.8001, LANDMARKS)
    assert found is not None
    assert MARKS[found[0]].name != "Stony Creek"


def test_figures():
    assert plain_degrees(-36.87012, 147.15003) == "-36.87012, 147.15003"
    assert plain_degrees(-0.000001, 0.0) == "0.00000, 0.00000"
    # The Ordnance Survey's own worked point: the water tower, 52 39.454218 N, 1 43.075295 E.
    assert plain_minutes(52.65757031, 1.71792158) == "52 39.454 N, 001 43.075 E"
    assert plain_minutes(-36.9999999, -147.9999999) == "37 00.000 S, 148 00.000 W"


def test_a_choice_of_figures_names_a_landmark_too():
    place = Place(-40.9808955, 172.9747940, 10, "decimal degrees")
    assert name_place(place, LANDMARKS) == "-40.98090, 172.97479 (3.0 km NW of Orrin Hut)"


@pytest.mark.parametrize(
    ("metres", "language", "words"),
    [
        (5000, "en", "within 5 km of Orrin Hut"),
        (2500, "en", "within 2.5 km of Orrin Hut"),
        (2500, "es", "a 2,5 km o menos de Orrin Hut"),
        (2500, "fr", "à 2,5 km au plus de Orrin Hut"),
        (400, "en", "within 400 m of Orrin Hut"),
    ],
)
def test_what_was_said_vaguely_is_read_back_vaguely(metres: float, language: str, words: str):
    place = Place(-41.0, 173.0, 5600, "landmark_reach", landmark="Orrin Hut", reach_m=metres)
    assert name_place(place, LANDMARKS, language) == words


@given(st.floats(-90, 90), st.floats(-180, 180), st.sampled_from(["en", "es", "fr"]))
def test_every_point_has_a_name_in_gsm7(lat: float, lon: float, language: str):
    words = describe_place(lat, lon, LANDMARKS, language)
    assert set(words) <= GSM7
    assert set(plain_degrees(lat, lon)) <= GSM7
    assert set(plain_minutes(lat, lon)) <= GSM7
    assert len(words) < 60


@given(st.floats(-41.4, -40.6), st.floats(172.6, 173.4))
def test_the_words_lead_back_to_the_point(lat: float, lon: float):
    found = nearest_landmark(lat, lon, LANDMARKS)
    assert found is not None
    number, way = found
    mark = MARKS[number]
    assert ahead(Spot(mark.lat, mark.lon, 0), way.azimuth, way.metres) == pytest.approx(
        (lat, lon), abs=1e-7
    )
    apart = abs((way.azimuth - way.eighth * 45 + 180) % 360 - 180)
    assert apart <= 22.5 + 1e-6
