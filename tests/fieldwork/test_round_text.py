"""The day's round as a text and as files: short enough, in order, and well-formed."""

from __future__ import annotations

import json
from dataclasses import replace as with_parts
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely.geometry import shape

from bot.fieldwork.round_text import GPX, DayRound, Stop, as_geojson, as_gpx, day_round, round_text
from bot.fieldwork.travel import minutes_between, network_of
from bot.talk.segments import segments_of
from tests.fieldwork.networks import grid
from tests.fieldwork.rosters import DIALOG, PROGRAMME

BASE = (-36.8, 147.1)


def stop(n: int, lat: float, lon: float, place: str = "Brindle Hut") -> Stop:
    return Stop(f"7K{n:02}-4TM", place, lat, lon, "sow, lump", "+61491570110")


LINE = [stop(n, -36.8 - 0.1 * n, 147.1) for n in (3, 1, 2)]


def test_the_stops_stand_in_the_order_of_the_way() -> None:
    """Three places on one meridian: out to the furthest and home, each met on the way."""
    plan = day_round(BASE, LINE, PROGRAMME)
    assert sorted(s.code for s in plan.stops) == ["7K01-4TM", "7K02-4TM", "7K03-4TM"]
    assert (plan.exact, plan.by, len(plan.legs)) == (True, "geodesic", 4)
    # 0.3 degrees of latitude there and back at 60 km/h, some 66.6 km.
    assert plan.minutes == pytest.approx(66.6, abs=0.1)


def test_on_a_network_the_legs_are_its_minutes() -> None:
    tracks = grid(1, kept=1.0, oneways=0.0)
    on = with_parts(PROGRAMME, tracks=tracks)
    stops = [stop(1, -36.88, 146.92), stop(2, -36.87, 146.94)]
    plan = day_round((-36.9, 146.9), stops, on)
    network = network_of(tracks)
    assert network is not None
    places = ((-36.9, 146.9), *((s.lat, s.lon) for s in plan.stops))
    table = minutes_between(network, places)
    assert table is not None
    assert plan.by == "network"
    assert plan.legs == pytest.approx([table[0, 1], table[1, 2], table[2, 0]])


def test_an_island_is_reckoned_straight() -> None:
    tracks = grid(1, kept=1.0, oneways=0.0)
    on = with_parts(
        PROGRAMME, tracks=with_parts(tracks, travel=replace(tracks.travel, longest_walk_km=5))
    )
    plan = day_round((-36.9, 146.9), [stop(1, -36.5, 146.9)], on)
    assert plan.by == "geodesic"


def test_the_text() -> None:
    """The straight line is named where the minutes are its own, and the network's are plain."""
    plan = day_round(BASE, LINE[1:2], PROGRAMME)
    said = "Your round, about 22 min as the crow flies, with the way home. "
    stop = "1) 7K01-4TM Brindle Hut, 11 min."
    assert round_text(plan, DIALOG, PROGRAMME) == said + stop
    text = round_text(
        replace(plan, by="network"), DIALOG, PROGRAMME, ["7K09-4TM"], "https://x.example/r"
    )
    assert text == (
        "Your round, about 22 min with the way home. "
        f"{stop} To hand in, with you: 7K09-4TM. https://x.example/r"
    )


def test_nothing_to_drive_to_is_said_with_what_is_on_board() -> None:
    plan = day_round(BASE, (), PROGRAMME)
    assert round_text(plan, DIALOG, PROGRAMME) == "Nothing is waiting for you to drive to."
    text = round_text(plan, DIALOG, PROGRAMME, [f"7K0{n}-4TM" for n in range(6)])
    assert text.endswith("To hand in, with you: 7K00-4TM, 7K01-4TM, 7K02-4TM, 7K03-4TM +2.")


@settings(max_examples=40)
@given(
    st.lists(st.text(max_size=60), max_size=30),
    st.integers(0, 9),
    st.sampled_from(
        ["", "https://post.a-programme-with-a-name.example/round/f1234.ar1Ghw.0123456789abcdef"]
    ),
)
def test_any_round_fits_two_segments_and_leaves_no_stop_unsaid(
    places: list[str], on_board: int, link: str
) -> None:
    stops = tuple(stop(n, -36.8, 147.1, place) for n, place in enumerate(places))
    plan = DayRound(BASE, stops, (30.0,) * (len(stops) + bool(stops)), False, "geodesic")
    with_him = [f"9K{n:02}-4TM" for n in range(on_board)]
    text = round_text(plan, DIALOG, PROGRAMME, with_him, link)
    assert segments_of(text) <= 2
    assert text.endswith(link)
    assert all(code in text for code in with_him[:4])
    named = sum(s.code in text for s in stops)
    assert all(s.code in text for s in stops[:named])
    assert named == len(stops) or f"{len(stops) - named} more" in text


def test_names_go_before_stops() -> None:
    stops = tuple(stop(n, -36.8, 147.1, "the woolshed by the crossing") for n in range(11))
    plan = DayRound(BASE, stops, (30.0,) * 12, False, "geodesic")
    text = round_text(plan, DIALOG, PROGRAMME)
    assert all(s.code in text for s in stops)


ODD = Stop("7K4T", 'Tom\'s "old" <hut> & shed\x00\x1f', -36.9, 147.2, "sow é 🐗", "+61491570110")


@pytest.mark.parametrize("stops", [(), (ODD,), tuple(LINE)])
def test_gpx_is_well_formed_and_says_the_places(stops: tuple[Stop, ...]) -> None:
    """GPX 1.1 (topografix.com/GPX/1/1): waypoints stand before routes."""
    plan = day_round(BASE, stops, PROGRAMME)
    root = ElementTree.fromstring(as_gpx(plan, "Round of Ada & Bo"))
    assert root.tag == f"{{{GPX}}}gpx"
    assert (root.get("version"), root.get("creator")) == ("1.1", "Bushpost")
    kinds = [child.tag.rpartition("}")[2] for child in root]
    assert kinds == ["wpt"] * len(stops) + ["rte"]
    for path in ("wpt", "rte/rtept"):
        found = root.findall("/".join(f"{{{GPX}}}{step}" for step in path.split("/")))
        at = [(float(p.get("lat", "")), float(p.get("lon", ""))) for p in found]
        assert at == [pytest.approx((s.lat, s.lon)) for s in plan.stops]


@pytest.mark.parametrize("stops", [(), (ODD,), tuple(LINE)])
def test_geojson_is_read_by_another_library(stops: tuple[Stop, ...]) -> None:
    plan = day_round(BASE, stops, PROGRAMME)
    table = json.loads(as_geojson(plan, "Round"))
    assert table["type"] == "FeatureCollection"
    *points, way = [shape(feature["geometry"]) for feature in table["features"]]
    assert [(p.y, p.x) for p in points] == [(s.lat, s.lon) for s in plan.stops]
    assert way.coords[0] == way.coords[-1] == (147.1, -36.8)
    assert len(way.coords) == len(stops) + 2
    codes = [f["properties"]["code"] for f in table["features"][:-1]]
    assert codes == [s.code for s in plan.stops]
