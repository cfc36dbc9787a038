"""Who is nearest on a network: against rank by hand, and round a lake that misleads."""

from __future__ import annotations

import json
from dataclasses import replace as with_parts
from datetime import UTC, datetime, timedelta
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bot.fieldwork.dispatch import Roster, Wants, in_reach, rank, soonest
from bot.fieldwork.duty import is_on_duty
from bot.fieldwork.people import FEW
from bot.fieldwork.travel import minutes_to, network_of, spots_of
from bot.folder.tables import ProgrammeError
from bot.folder.tracks import Tracks, Travel, read_tracks
from bot.programme import Member, Programme, load_programme
from tests.fieldwork.networks import grid
from tests.fieldwork.rosters import NOON, PROGRAMME, ROSTER

ADA = ROSTER.by_id["near"]


def on(tracks: Tracks, **rules: object) -> Programme:
    head = replace(PROGRAMME.head, travel=tracks.travel)
    head = replace(head, pickup=replace(head.pickup, **rules))
    return with_parts(PROGRAMME, head=head, tracks=tracks)


def crowd(draw: Random, size: int) -> Roster:
    members = tuple(
        replace(
            ADA,
            id=f"m{n:02}",
            lat=-36.9 + draw.uniform(-0.01, 0.06),
            lon=146.9 + draw.uniform(-0.01, 0.06),
            reach_km=draw.choice([1.0, 3.0, 30.0, 300.0]),
            days=draw.choice([(), tuple(range(7)), tuple(range(7))]),
            most_jobs=draw.choice([0, 1]),
        )
        for n in range(size)
    )
    return Roster(members, {m.id: draw.randrange(3) for m in members})


@pytest.mark.parametrize("first", ["travel", "load"])
@pytest.mark.parametrize("seed", range(6))
def test_soonest_is_the_beginning_of_rank(seed: int, first: str) -> None:
    """The widening search leaves nobody out and changes no order."""
    draw = Random(seed)
    roster, programme = crowd(draw, 40), on(grid(seed, oneways=0.1), asked_first=first)
    for _ in range(5):
        place = -36.9 + draw.uniform(0, 0.05), 146.9 + draw.uniform(0, 0.05)
        asked = frozenset(draw.sample(sorted(roster.by_id), 3))
        whole = rank(*place, NOON, roster, programme, asked)
        free = [row for row in whole if not row.why_not]
        assert list(soonest(*place, NOON, roster, programme, asked)) == free
        assert {row.member.id for row in whole} == set(roster.by_id)
        near = list(in_reach(*place, NOON, roster, programme, asked))
        reached = {row.member.id: row for row in whole if row.why_not != "out_of_reach"}
        # Who was asked before is told apart from the others wherever he is.
        assert {r.member.id: r for r in near if r.why_not != "asked"} == {
            id: row for id, row in reached.items() if row.why_not != "asked"
        }


@pytest.mark.parametrize("seed", range(3))
def test_bases_off_the_network_keep_their_place_in_the_order(seed: int) -> None:
    """Their straight minutes may be many; a search that has looked less far says nothing yet."""
    draw = Random(seed)
    tracks = grid(seed, oneways=0.0)
    near = with_parts(tracks, travel=replace(tracks.travel, longest_walk_km=1.0))
    far = tuple(
        replace(ADA, id=f"x{n}", lat=-36.9, lon=146.9 + 0.25 * n, reach_km=300.0) for n in (1, 2, 3)
    )
    roster = Roster((*crowd(draw, 30).members, *far))
    programme = on(near)
    for _ in range(4):
        place = -36.9 + draw.uniform(0, 0.05), 146.9 + draw.uniform(0, 0.05)
        whole = [r for r in rank(*place, NOON, roster, programme) if not r.why_not]
        assert {r.by for r in whole} == {"network", "geodesic"}
        assert list(soonest(*place, NOON, roster, programme)) == whole


def test_where_nobody_may_be_asked_there_is_nobody() -> None:
    roster, programme = crowd(Random(1), 20), on(grid(1))
    night = NOON + timedelta(hours=12)
    many = [replace(m, id=f"{m.id}-{n}") for n in range(20) for m in roster.members]
    at_night = Roster(tuple(replace(m, from_minute=480, to_minute=960) for m in many))
    for who, at, asked in (
        (at_night, night, frozenset()),
        (roster, NOON, frozenset(roster.by_id)),
        (Roster(()), NOON, frozenset()),
    ):
        assert list(soonest(-36.88, 146.92, at, who, programme, asked)) == []


MINUTES = st.integers(0, 1440)


@given(
    days=st.sets(st.integers(0, 6)),
    calls=st.sets(st.integers(0, 6)),
    hours=st.tuples(MINUTES, MINUTES),
    nights=st.tuples(MINUTES, MINUTES),
    # Over both changes of Melbourne's clock: 5 April and 4 October 2026 (IANA time zones).
    at=st.one_of(
        *(
            st.datetimes(day, day + timedelta(days=4))
            for day in (datetime(2026, 4, 3), datetime(2026, 10, 2))
        )
    ),
)
def test_nobody_on_duty_is_passed_over_by_the_quick_look(days, calls, hours, nights, at) -> None:
    member = replace(
        ADA, days=tuple(sorted(days)), from_minute=hours[0], to_minute=hours[1],
        on_call=tuple(sorted(calls)), call_from=nights[0], call_to=nights[1],
    )  # fmt: skip
    at = at.replace(tzinfo=UTC)
    crowd = Roster((member,) * (FEW + 1))
    perhaps = crowd.perhaps_on_duty(np.arange(FEW + 1), at, PROGRAMME.zone)
    assert perhaps[0] or not is_on_duty(member, at, PROGRAMME.zone)


@pytest.mark.parametrize("seed", range(4))
def test_rank_has_the_minutes_of_the_network(seed: int) -> None:
    roster, tracks = crowd(Random(seed), 15), grid(seed)
    network = network_of(tracks)
    assert network is not None
    minutes = minutes_to(network, (-36.88, 146.92), spots_of(network, roster.bases))
    assert minutes is not None
    rows = {row.member.id: row for row in rank(-36.88, 146.92, NOON, roster, on(tracks))}
    longest = 2.0 * max(m.reach_km for m in roster.members)
    for member, way in zip(roster.field_staff, minutes, strict=True):
        row = rows[member.id]
        assert row.by == "network"
        assert row.minutes == pytest.approx(way if way <= longest else np.inf)
        if way > 2.0 * member.reach_km:
            assert row.why_not == "out_of_reach"


LAKE = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"class": "gravel"},
            "geometry": {
                "type": "LineString",
                "coordinates": [[147.0, -37.0], [147.0, -36.7], [147.1, -36.7], [147.1, -37.0]],
            },
        },
        {
            "type": "Feature",
            "properties": {"speed_kmh": 60},
            "geometry": {
                "type": "MultiLineString",
                "coordinates": [[[147.1, -37.0], [147.3, -37.0]]],
            },
        },
    ],
}


USUAL = Travel()


def round_the_lake(travel: Travel = USUAL) -> Programme:
    return on(read_tracks(json.dumps(LAKE), travel))


WEST, EAST = (
    replace(ADA, id="west", lat=-37.0, lon=147.0),
    replace(ADA, id="east", lat=-37.0, lon=147.3),
)


def test_soonest_there_is_not_the_straight_line() -> None:
    """9 km over the water, 76 km round it; the one 18 km away is there first."""
    roster = Roster((WEST, EAST))
    straight = rank(-37.0, 147.1, NOON, roster, PROGRAMME)
    assert [(r.member.id, r.by) for r in straight] == [("west", "geodesic"), ("east", "geodesic")]
    rows = rank(-37.0, 147.1, NOON, roster, round_the_lake())
    assert [(r.member.id, r.by) for r in rows] == [("east", "network"), ("west", "network")]
    assert rows[0].minutes == pytest.approx(rows[0].km, rel=1e-3)
    assert rows[1].km == pytest.approx(8.9, abs=0.1)
    assert 75 / 50 * 60 < rows[1].minutes < 76.5 / 50 * 60


def test_a_place_off_the_network_is_reckoned_straight_for_all() -> None:
    rows = rank(-37.3, 147.0, NOON, Roster((WEST, EAST)), round_the_lake())
    assert [(r.member.id, r.by) for r in rows] == [("west", "geodesic"), ("east", "geodesic")]


def test_a_base_off_the_network_is_reckoned_straight() -> None:
    lone = replace(ADA, id="lone", lat=-37.3, lon=147.1)
    rows = {
        r.member.id: r for r in rank(-37.0, 147.1, NOON, Roster((EAST, lone)), round_the_lake())
    }
    assert {i: r.by for i, r in rows.items()} == {"east": "network", "lone": "geodesic"}
    assert rows["lone"].minutes == pytest.approx(rows["lone"].km)


def test_a_way_much_longer_than_the_reach_is_out_of_reach() -> None:
    near = replace(WEST, reach_km=30.0)
    (row,) = rank(-37.0, 147.1, NOON, Roster((near,)), round_the_lake())
    assert row.why_not == "out_of_reach"
    patient = round_the_lake(Travel(detour=4.0))
    (row,) = rank(-37.0, 147.1, NOON, Roster((near,)), patient)
    assert row.why_not == ""


@pytest.mark.parametrize(
    ("terms", "wants", "why_not"),
    [
        ({}, Wants("deer"), ""),
        ({"fetches": ("pig",)}, Wants("deer"), "cannot_fetch"),
        ({"fetches": ("pig", "deer")}, Wants("deer"), ""),
        ({"fetches": ("pig",)}, Wants(), ""),
        ({}, Wants("pig", whole_carcase=True), "cannot_fetch"),
        ({"whole_carcase": True}, Wants("pig", whole_carcase=True), ""),
        ({"most_jobs": 2}, Wants(), "full"),
        ({"most_jobs": 3}, Wants(), ""),
        ({"days": ()}, Wants(), "off_duty"),
    ],
)
def test_who_may_be_asked_for_what(terms: dict[str, object], wants: Wants, why_not: str) -> None:
    member: Member = replace(ADA, **terms)
    roster = Roster((member,), {member.id: 2})
    (row,) = rank(-36.87, 147.15, NOON, roster, PROGRAMME, wants=wants)
    assert row.why_not == why_not


def test_load_may_come_before_travel() -> None:
    roster = Roster((WEST, EAST), {"west": 1})
    first = on(Tracks((), Travel()), asked_first="load")
    assert rank(-37.0, 147.01, NOON, roster, PROGRAMME)[0].member.id == "west"
    assert rank(-37.0, 147.01, NOON, roster, first)[0].member.id == "east"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            {"properties": {"class": "canal"}},
            "feature 1: class: 'canal' is none of highway, sealed",
        ),
        ({"properties": {"speed_kmh": 900}}, "feature 1: speed_kmh: 900"),
        ({"properties": {}}, "feature 1: class: ''"),
        ({"geometry": {"type": "Point", "coordinates": [147, -37]}}, "a Point is no line"),
        ({"geometry": {"type": "LineString", "coordinates": [[147, -37]]}}, "not a line of points"),
        ({"geometry": {"type": "LineString", "coordinates": [[147, -37], [200, 0]]}}, "in degrees"),
        ({"geometry": None}, "feature 1"),
    ],
)
def test_a_fault_in_the_tracks_names_its_feature(change: dict[str, object], words: str) -> None:
    text = json.dumps({"features": [LAKE["features"][0] | change]})
    with pytest.raises(ProgrammeError, match=r"tracks\.geojson") as fault:
        load_programme({**PROGRAMME.files, "tracks.geojson": text})
    assert words in str(fault.value)


def test_travel_speeds_are_the_programmes() -> None:
    toml = PROGRAMME.files["programme.toml"] + "[travel]\nclasses = {gravel = 25}\n"
    files = {**PROGRAMME.files, "tracks.geojson": json.dumps(LAKE), "programme.toml": toml}
    tracks = load_programme(files).tracks
    assert tracks is not None
    assert [line.speed_kmh for line in tracks.lines] == [25.0, 60.0]
    slow = files | {"programme.toml": toml + "walk_kmh = 0\n"}
    with pytest.raises(ProgrammeError, match=r"travel\.walk_kmh"):
        load_programme(slow)
    assert load_programme(PROGRAMME.files).tracks is None
