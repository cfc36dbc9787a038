"""A season's figures, reckoned by hand beside it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.evidence.coarse import SQUARE_KM, square_centre, square_reach_m
from bot.evidence.season import Tally, Waits, by_week, share_by_bot, tally, waits
from bot.fieldwork.dispatch import WGS84
from bot.service.atlas import FindFacts

ZONE = ZoneInfo("Australia/Melbourne")
MONDAY = datetime(2026, 11, 2, 2, 0, tzinfo=UTC)


def find(day=0, state="suspect", taken=None, stage="settled", alone=True, hour=0):
    at = MONDAY + timedelta(days=day, hours=hour)
    then = at + timedelta(hours=taken) if taken is not None else None
    return FindFacts("K7R-4TR", at, stage, state, "head", taken_at=then, by_bot_alone=alone)


def test_weeks_begin_on_a_local_monday_and_empty_ones_are_shown():
    # Sunday 13:30 UTC is Monday 00:30 in Melbourne (summer time, UTC+11).
    rows = [find(0), find(6, "clean", hour=11.5), find(21, "no"), find(22, "found_dead")]
    assert by_week(rows, ZONE) == (
        Tally("2026-11-02", suspect=1),
        Tally("2026-11-09", clean=1),
        Tally("2026-11-16"),
        Tally("2026-11-23", suspect=1, other=1),
    )
    assert by_week([], ZONE) == ()


def test_names_are_counted_the_most_first():
    rows = [("pig", find()), ("deer", find(state="clean")), ("pig", find(state=""))]
    assert tally(rows) == (Tally("pig", 1, 0, 1), Tally("deer", 0, 1, 0))


@pytest.mark.parametrize(
    ("hours", "wanted"),
    [
        ([], None),
        ([None, None], None),
        ([3], Waits(1, 3.0, 3.0)),
        ([1, 2, 3, None, 10], Waits(4, 2.5, 10.0)),
        # Nearest rank, ceil(0.9 n): the ninth of ten values (common practice, no source).
        (list(range(1, 11)), Waits(10, 5.5, 9.0)),
    ],
)
def test_waits(hours, wanted):
    assert waits([find(taken=h) for h in hours], "taken_at") == wanted


def test_the_share_is_of_what_is_settled():
    rows = [find(), find(alone=False), find(stage="asking"), find(stage="closed")]
    assert share_by_bot(rows) == (2, 3)


LATS = st.floats(-80, 80)
LONS = st.floats(-179.5, 179.5)


@given(LATS, LONS)
def test_a_centre_is_within_half_a_diagonal_of_what_it_hides(lat, lon):
    """Checked by geodesics on WGS84 (GeographicLib, through pyproj)."""
    there = square_centre(lat, lon)
    _, _, metres = WGS84.inv(lon, lat, there[1], there[0])
    # A row's parallel is longer towards the equator than in its middle, and the ellipsoid's
    # degree is up to 1 % off the sphere's.
    assert metres <= square_reach_m() * 1.03


@given(LATS, LONS)
def test_a_centre_hides_where_in_the_square_it_was(lat, lon):
    there = square_centre(lat, lon)
    assert square_centre(*there) == there
    assert SQUARE_KM == 10.0
