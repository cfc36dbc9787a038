"""The invented range: its tracks lead everywhere, and its water misleads a straight line."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from bot.fieldwork.dispatch import Roster, rank
from bot.fieldwork.travel import is_known, minutes_between, network_of, spots_of
from bot.programme import Programme, load_programme, read_folder
from bot.shipped import shipped

EVENING = datetime(2026, 11, 20, 8, 0, tzinfo=UTC)
"""Friday 19:00 in Melbourne: Hamish Ortt is on duty since 17:00."""


@pytest.fixture(scope="module")
def demo() -> Programme:
    return load_programme(read_folder(shipped("demo_conversations") / "programme"))


def test_the_tracks_lead_from_every_base_to_every_other_and_by_every_roof(
    demo: Programme,
) -> None:
    assert demo.tracks is not None
    network = network_of(demo.tracks)
    assert network is not None
    bases = Roster(demo.roster).bases
    assert is_known(network, spots_of(network, bases)).all()
    table = minutes_between(network, bases)
    assert table is not None
    assert np.isfinite(table).all()
    roofs = {"hut", "town", "station", "depot"}
    landmarks = tuple((m.lat, m.lon) for m in demo.landmarks if m.kind in roofs)
    assert is_known(network, spots_of(network, landmarks)).all()


@pytest.mark.parametrize(
    ("place", "straight", "soonest"),
    [
        # The north shore of the reservoir: 26 km over the water, twice as far round it.
        ((-36.507, 147.30), "f6", "f1"),
        # The foot of the range on its western side: the way in from the east goes round.
        ((-36.86, 147.18), "f2", "f1"),
    ],
)
def test_the_straight_line_is_wrong_there(
    demo: Programme, place: tuple[float, float], straight: str, soonest: str
) -> None:
    roster = Roster(demo.roster)
    assert rank(*place, EVENING, roster, replace(demo, tracks=None))[0].member.id == straight
    first = rank(*place, EVENING, roster, demo)[0]
    assert (first.member.id, first.by) == (soonest, "network")
