"""The spoiling clock: shares of each stage against a reckoning minute by minute.

The hours are settings of this project's own; no published rule for whole heads was found.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.fieldwork.spoiling import best_by, lasts, overdue
from bot.folder.spoiling import AirRow, Spoiling
from bot.folder.tables import ProgrammeError
from bot.messages import Stage
from tests.fieldwork.rosters import NOON, programme

RULES = Spoiling()
HOUR = timedelta(hours=1)


def stage(kept: str, hours: float, air_c: float | None = None) -> Stage:
    return Stage(kept, NOON + hours * HOUR, air_c)


@pytest.mark.parametrize(
    ("stages", "due"),
    [
        ([stage("warm", 0)], 48),
        ([stage("warm", 0, 31)], 24),
        ([stage("warm", 0, 25)], 24),
        ([stage("warm", 0, 24.9)], 48),
        ([stage("warm", 0, 5)], 96),
        ([stage("warm", 0, -3)], 240),
        ([stage("chilled", 0)], 168),
        ([stage("frozen", 0)], None),
        # A quarter used up warm, three quarters of the chilled hours are left.
        ([stage("warm", 0), stage("chilled", 12)], 12 + 0.75 * 168),
        # Half used up hot; the freezer stops the clock, and thawing starts it where it stood.
        ([stage("warm", 0, 30), stage("frozen", 12)], None),
        ([stage("warm", 0, 30), stage("frozen", 12), stage("warm", 100, 30)], 112),
        # Used up before it was cooled: due then, not later.
        ([stage("warm", 0, 30), stage("chilled", 40)], 24),
        ([stage("warm", 0, 30), stage("frozen", 24)], 24),
        ([], None),
    ],
)
def test_when_a_head_is_due(stages: list[Stage], due: float | None) -> None:
    expected = None if due is None else NOON + due * HOUR
    assert best_by(stages, RULES) == expected
    assert best_by(reversed(stages), RULES) == expected
    assert best_by(stages, None) is None


kept_so = st.builds(
    stage,
    st.sampled_from(["warm", "chilled", "frozen"]),
    st.integers(0, 300),
    st.none() | st.integers(-10, 40).map(float),
)


@given(st.lists(kept_so, min_size=1, max_size=5, unique_by=lambda s: s.since))
def test_hour_by_hour_it_comes_to_the_same(stages: list[Stage]) -> None:
    told = sorted(stages, key=lambda s: s.since)
    now, used = told[0].since, 0.0
    while used < 1.0 - 1e-9 and now < NOON + 2000 * HOUR:
        here = [s for s in told if s.since <= now][-1]
        share = lasts(here, RULES)
        used += HOUR / share if share else 0.0
        now += HOUR
    due = best_by(stages, RULES)
    if used < 1.0 - 1e-9:
        assert due is None
    else:
        assert due is not None
        assert now - HOUR - timedelta(seconds=1) <= due <= now + timedelta(seconds=1)


@given(kept_so, st.integers(1, 200))
def test_cooling_sooner_is_never_due_sooner(first: Stage, after: int) -> None:
    warm = Stage("warm", first.since, first.air_c)
    early = Stage("chilled", warm.since + after * HOUR)
    late = Stage("chilled", early.since + HOUR)
    rules = Spoiling(by_air=(AirRow(25.0, 24.0),), cold_hours=100.0)
    sooner, later = best_by([warm, early], rules), best_by([warm, late], rules)
    assert sooner is not None
    assert later is not None
    assert sooner >= later - timedelta(seconds=1)


def test_overdue_counts_from_the_due_time() -> None:
    assert overdue(NOON, NOON + 3 * HOUR) == 3 * HOUR
    assert overdue(NOON, NOON) is None
    assert overdue(None, NOON) is None


def test_the_programme_sets_the_hours() -> None:
    assert programme().head.spoiling is None
    rules = programme(rules="[spoiling]\nwarm_hours = 30\nby_air = [{air_c = 20, hours = 12}]\n")
    assert rules.head.spoiling == Spoiling(warm_hours=30.0, by_air=(AirRow(20.0, 12.0),))
    with pytest.raises(ProgrammeError, match=r"spoiling\.warm_hours"):
        programme(rules="[spoiling]\nwarm_hours = -1\n")
