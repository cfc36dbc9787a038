"""Plausibility: inside, near, or asked about, with what the words might have meant instead.

The slips are those of common practice: swapped,
sign lost, minutes written as decimals, a digit lost, doubled or exchanged. Right places are
worked out by hand from the notation.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from landmark_frame import AREA, frame
from shapely.geometry import MultiPolygon, Point, Polygon, box

from bot.reading.area import alternatives, kilometres_outside, plausible
from bot.reading.scene import Area
from bot.reading.values import Found, Place, Unclear

SHAPE = AREA.shape  # 172.5 to 173.5 E, 41.5 to 40.5 S


def decimal(lat: float, lon: float, heard: str = "") -> Found[Place]:
    heard = heard or f"{lat}, {lon}"
    return Found(Place(lat, lon, 10.0, "decimal degrees"), heard, 5, 5 + len(heard))


def offered(found: Found[Place]) -> list[tuple[float, float]]:
    answer = plausible(found, frame(area=AREA))
    assert isinstance(answer, Unclear), answer
    assert (answer.why, answer.heard, answer.start, answer.end) == (
        "outside_area", found.heard, found.start, found.end,
    )  # fmt: skip
    return [(c.value.lat, c.value.lon) for c in answer.choices if isinstance(c.value, Place)]


def test_inside_is_left_as_it_is():
    found = decimal(-41.1, 173.1)
    assert plausible(found, frame(area=AREA)) is found


def test_near_is_kept_and_noted():
    answer = plausible(decimal(-41.6, 173.1), frame(area=AREA))
    assert isinstance(answer, Found)
    # 0.1 degree of latitude is 11.1 km.
    assert answer.value.assumed == ("11 km outside the programme's area",)


def test_a_place_whose_accuracy_reaches_the_area_is_not_outside():
    found = Found(Place(-41.505, 173.1, 1000.0, "decimal degrees"), "-41.505 173.1")
    assert plausible(found, frame(area=AREA)) is found


def test_without_an_area_every_place_will_do():
    found = decimal(12.0, 34.0)
    assert plausible(found, frame()) is found
    assert plausible(found, frame(area=Area(Polygon()))) is found


def test_a_listed_landmark_is_never_outside():
    found = Found(Place(-30.0, 150.0, 100.0, "landmark", landmark="Far Hut"), "far hut")
    assert plausible(found, frame(area=AREA)) is found


@pytest.mark.parametrize(
    ("lat", "lon", "heard", "meant"),
    [
        (41.1, 173.1, "", (-41.1, 173.1)),  # sign lost
        (-41.1, -173.1, "", (-41.1, 173.1)),
        (41.1, -173.1, "", (-41.1, 173.1)),
        (14.1234, 173.1, "", (-41.1234, 173.1)),  # exchanged digits
        (-41.1234, 137.1, "", (-41.1234, 173.1)),
        (-4.1234, 173.1, "-4.1234, 173.1", (-41.1234, 173.1)),  # a digit lost
        (-41.1234, 17.1, "-41.1234, 17.1", (-41.1234, 173.1)),
        (-41.1234, 73.1, "-41.1234 73.1", (-41.1234, 173.1)),
    ],
)  # fmt: skip
def test_a_slip_is_offered(lat: float, lon: float, heard: str, meant: tuple[float, float]):
    assert any(p == pytest.approx(meant, abs=1e-9) for p in offered(decimal(lat, lon, heard)))


def test_swapped_is_offered_where_both_can_be_latitudes():
    """Near 45 N 60 E both orders are legal, so only the area tells."""
    there = Area(box(59.5, 44.5, 60.5, 45.5), near_km=10)
    answer = plausible(decimal(60.2, 45.3), frame(area=there))
    assert isinstance(answer, Unclear)
    first = answer.choices[0].value
    assert isinstance(first, Place)
    assert (first.lat, first.lon) == (45.3, 60.2)


def test_minutes_written_as_decimals_are_offered():
    """36.52 may mean 36 degrees 52 minutes: 36.8667."""
    there = Area(box(174.7, -36.9, 174.8, -36.8), near_km=5)
    answer = plausible(decimal(-36.52, 174.45, "-36.52, 174.45"), frame(area=there))
    assert isinstance(answer, Unclear)
    values = [c.value for c in answer.choices]
    assert any(
        isinstance(v, Place)
        and (v.lat, v.lon) == pytest.approx((-(36 + 52 / 60), 174 + 45 / 60), abs=1e-9)
        for v in values
    )


def test_seconds_written_as_decimals_are_offered():
    there = Area(box(174.7, -36.9, 174.8, -36.8), near_km=5)
    found = decimal(-36.5212, 174.4530, "-36.5212, 174.4530")
    answer = plausible(found, frame(area=there))
    assert isinstance(answer, Unclear)
    meant = (-(36 + 52 / 60 + 12 / 3600), 174 + 45 / 60 + 30 / 3600)
    assert any(
        isinstance(c.value, Place) and (c.value.lat, c.value.lon) == pytest.approx(meant, abs=1e-9)
        for c in answer.choices
    )


def test_a_choice_says_where_it_lies():
    answer = plausible(decimal(40.98090, 172.97479, "40.98090, 172.97479"), frame(area=AREA))
    assert isinstance(answer, Unclear)
    assert answer.choices[0].words == "-40.98090, 172.97479 (3.0 km NW of Orrin Hut)"


def test_another_notation_is_changed_and_read_again():
    """Exchanged figures of a grid reference go through its own reader, which is given."""
    asked: list[str] = []

    def reread(text: str) -> list[Place]:
        asked.append(text)
        return [Place(-41.2, 173.2, 71.0, "grid")] if text == "XX 12 43" else []

    found = Found(Place(-20.0, 150.0, 71.0, "grid"), "XX 12 34")
    (choice,) = alternatives(found.value, found.heard, SHAPE, reread)
    assert (choice.lat, choice.lon) == (-41.2, 173.2)
    assert asked


def test_a_far_place_with_no_slip_has_no_choices():
    assert offered(decimal(10.0, 20.0, "10.0, 20.0")) == []


@pytest.mark.parametrize(
    ("lat", "lon", "km"),
    [(-41.0, 173.0, 0.0), (-41.5, 173.0, 0.0), (-42.5, 173.0, 111.1), (-41.0, 174.5, 84.1)],
)
def test_kilometres_outside(lat: float, lon: float, km: float):
    """One degree of latitude is 111.1 km there, one of longitude 84.1 km (WGS84)."""
    assert kilometres_outside(decimal(lat, lon).value, SHAPE) == pytest.approx(km, abs=0.1)


@given(
    st.floats(-90, 90), st.floats(-180, 180), st.text(alphabet="0123456789., -NSEW", max_size=80)
)
def test_whatever_is_heard_only_places_inside_are_offered(lat: float, lon: float, heard: str):
    split = MultiPolygon([box(172.5, -41.5, 172.9, -40.5), box(173.1, -41.5, 173.5, -40.5)])
    answer = plausible(decimal(lat, lon, heard or "x"), frame(area=Area(split)))
    if isinstance(answer, Unclear):
        assert len(answer.choices) <= 4
        for choice in answer.choices:
            assert isinstance(choice.value, Place)
            assert split.covers(Point(choice.value.lon, choice.value.lat))
