"""Who is nearest: distances against published geodesics, the order against brute force."""

from __future__ import annotations

from dataclasses import replace as with_head

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bot.fieldwork.dispatch import Roster, is_on_duty, rank
from bot.programme import Member
from tests.fieldwork.rosters import NOON, PROGRAMME, ROSTER

ADA = ROSTER.by_id["near"]

# lat1, lon1, lat2, lon2, metres. The first ten are WGS84 lines of GeographicLib's own test set
# (geographiclib-python, geographiclib/test/test_geodesic.py, MIT; drawn from GeodTest.dat,
# DOI 10.5281/zenodo.32156). The last two are worked numbers of Karney 2013, J. Geodesy 87:43,
# from memory.
PUBLISHED = [
    (35.60777, -139.44815, -11.17491, -69.95921, 8935244.5604818305),
    (55.52454, 106.05087, 77.03196, 197.18234, 4105086.1713924406),
    (-21.97856, 142.59065, 41.84138, 98.56635, 8394328.894657671),
    (-66.99028, 112.2363, -12.70631, 285.90344, 11150344.2312080241),
    (32.84994, 48.28919, -56.28556, 202.29132, 16727068.9438164461),
    (-50.56724, -16.30485, -33.56571, -94.97412, 6455670.5118668696),
    (-68.82867, -74.28391, -50.63005, -8.36685, 3956936.926063544),
    (-19.79938, -174.47484, -11.99349, -154.35109, 2319004.8601169389),
    (-41.22777, 122.32875, -7.57291, 130.37946, 3812686.035106021),
    (-29.47124, 95.14681, -27.46601, -69.15955, 13487015.8381145492),
    (-30.12345, 0.0, -30.12344, 0.00005, 4.944208),
    (-30.0, 0.0, 29.9, 179.8, 19989832.82761),
]


@pytest.mark.parametrize(("lat1", "lon1", "lat2", "lon2", "metres"), PUBLISHED)
def test_kilometres_are_the_published_geodesic(
    lat1: float, lon1: float, lat2: float, lon2: float, metres: float
) -> None:
    base = replace(ADA, lat=lat1, lon=lon1)
    (row,) = rank(lat2, lon2, NOON, Roster((base,)), PROGRAMME)
    assert row.km * 1000 == pytest.approx(metres, abs=1e-5)
    assert row.by == "geodesic"


def test_minutes_follow_the_programmes_speed() -> None:
    slow = with_head(
        PROGRAMME, head=replace(PROGRAMME.head, pickup=replace(PROGRAMME.head.pickup, speed_kmh=30))
    )
    (fast,) = rank(-36.87, 147.15, NOON, Roster((ADA,)), PROGRAMME)
    (row,) = rank(-36.87, 147.15, NOON, Roster((ADA,)), slow)
    assert fast.minutes == pytest.approx(fast.km)
    assert row.minutes == pytest.approx(2 * row.km)


def test_why_not() -> None:
    rows = rank(-36.87, 147.15, NOON, ROSTER, PROGRAMME, frozenset({"near"}))
    assert [(r.member.id, r.why_not) for r in rows] == [("mid", ""), ("far", ""), ("near", "asked")]
    short = Roster(tuple(replace(m, reach_km=1.0) for m in ROSTER.members))
    assert {r.why_not for r in rank(-36.87, 147.15, NOON, short, PROGRAMME)} == {"out_of_reach"}
    resting = Roster(tuple(replace(m, days=()) for m in ROSTER.members))
    assert {r.why_not for r in rank(-36.87, 147.15, NOON, resting, PROGRAMME)} == {"off_duty"}


def test_no_coordinator_is_sent_and_an_empty_roster_is_empty() -> None:
    assert "desk" not in {r.member.id for r in rank(-36.7, 147.0, NOON, ROSTER, PROGRAMME)}
    assert rank(-36.7, 147.0, NOON, Roster(()), PROGRAMME) == ()


def test_of_two_as_near_the_less_loaded_comes_first() -> None:
    twin = replace(ADA, id="twin")
    loaded = Roster((ADA, twin), {"near": 2, "twin": 1})
    assert [r.member.id for r in rank(-36.87, 147.15, NOON, loaded, PROGRAMME)] == ["twin", "near"]


people = st.builds(
    Member,
    id=st.uuids().map(str),
    name=st.just("X"),
    role=st.sampled_from(["field", "field", "coordinator"]),
    number=st.just("+61491570156"),
    lat=st.floats(-38, -36),
    lon=st.floats(146, 148),
    reach_km=st.floats(0, 250),
    days=st.sets(st.integers(0, 6)).map(tuple),
    from_minute=st.integers(0, 1439),
    to_minute=st.integers(0, 1440),
)


@given(st.lists(people, max_size=12), st.floats(-38, -36), st.floats(146, 148))
def test_the_first_is_the_nearest_free_one_by_brute_force(
    members: list[Member], lat: float, lon: float
) -> None:
    """GeographicLib's pure Python reckons the same distances one by one."""
    rows = rank(lat, lon, NOON, Roster(tuple(members)), PROGRAMME)
    assert sorted(r.member.id for r in rows) == sorted(m.id for m in members if m.role == "field")
    km = {
        m.id: Geodesic.WGS84.Inverse(m.lat, m.lon, lat, lon, Geodesic.DISTANCE)["s12"] / 1000
        for m in members
    }
    for row in rows:
        assert row.km == pytest.approx(km[row.member.id], abs=1e-7)
    free = {
        m.id
        for m in members
        if m.role == "field" and km[m.id] <= m.reach_km and is_on_duty(m, NOON, PROGRAMME.zone)
    }
    assert {r.member.id for r in rows if not r.why_not} == free
    if free:
        # Whole minutes are compared, so the first is within one of the very nearest.
        assert rows[0].km <= min(km[i] for i in free) + 1.0
