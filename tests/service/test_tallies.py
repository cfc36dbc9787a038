"""Counts of tries: the same from the database and from one process, and one count for two doors."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from types import SimpleNamespace

import pytest
from sqlalchemy import select

from bot.commands.deliver import daily_of
from bot.service import tables as t
from bot.service.tallies import MOST_KEPT, OwnTallies, SharedTallies, Tally, forget_over
from tests.service.fakes import NOON

MINUTE, SECOND = timedelta(minutes=1), timedelta(seconds=1)
KEY = "a key of tests for counting tries alone"


@pytest.fixture
def shared(database):
    return SharedTallies(database, KEY)


def test_one_process_counts_as_all_do(shared):
    """The same steps give the same windows, by whichever it is counted."""
    own = OwnTallies()
    for who, second, slides in (
        *(("a", 0, False), ("a", 59, False), ("b", 59, False), ("a", 60, False), ("a", 10, False)),
        *(("c", 0, True), ("c", 50, True), ("c", 100, True), ("c", 160, True)),
    ):
        at = NOON + second * SECOND
        assert own.seen(who, at) == shared.seen(who, at)
        given = [tallies.add(who, at, MINUTE, slides=slides) for tallies in (own, shared)]
        assert given[0] == given[1] == own.seen(who, at) == shared.seen(who, at)


def test_a_window_begins_with_its_first_and_ends(shared):
    assert shared.seen("a", NOON) is None
    assert shared.add("a", NOON, MINUTE) == Tally(1, NOON, NOON, NOON + MINUTE)
    later = NOON + 59 * SECOND
    assert shared.add("a", later, MINUTE) == Tally(2, NOON, later, NOON + MINUTE)
    assert shared.seen("a", later).count == 2
    assert shared.seen("b", later) is None
    assert shared.seen("a", NOON + MINUTE) is None
    assert shared.add("a", NOON + MINUTE, MINUTE).count == 1


def test_a_sliding_window_goes_on_from_its_latest(shared):
    for second in (0, 50, 100):
        tally = shared.add("a", NOON + second * SECOND, MINUTE, slides=True)
    assert (tally.count, tally.until) == (3, NOON + 160 * SECOND)


def test_a_clock_that_is_set_back_begins_anew(shared):
    shared.add("a", NOON, MINUTE)
    assert shared.add("a", NOON - MINUTE, MINUTE) == Tally(1, NOON - MINUTE, NOON - MINUTE, NOON)


def test_cleared_is_forgotten(shared):
    shared.add("a", NOON, MINUTE)
    shared.clear("a")
    assert shared.seen("a", NOON) is None


def test_two_doors_share_a_count_and_none_is_lost(database):
    doors = [SharedTallies(database, KEY), SharedTallies(database, KEY)]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda n: doors[n % 2].add("a", NOON, MINUTE), range(20)))
    assert doors[0].seen("a", NOON).count == 20


def test_who_it_was_is_not_stored(database):
    SharedTallies(database, KEY).add("log-ins 192.0.2.7", NOON, MINUTE)
    with database.read() as connection:
        (row,) = connection.execute(select(t.Tally)).all()
    assert "192.0.2.7" not in str(row)
    assert SharedTallies(database, "another key").seen("log-ins 192.0.2.7", NOON) is None


def test_what_is_over_goes_and_what_is_open_stays(shared, database):
    for who, age in (("old", 2), ("ending", 1), ("new", 0)):
        shared.add(who, NOON - age * MINUTE, MINUTE)
    assert forget_over(database, NOON) == 2
    assert shared.seen("new", NOON).count == 1


def test_the_days_round_takes_it_out(database, programme):
    SharedTallies(database, KEY).add("old", NOON - MINUTE, MINUTE)
    intake = SimpleNamespace(database=database, programme=programme)
    assert daily_of(SimpleNamespace(intake=intake)).run_if_due(NOON)
    with database.read() as connection:
        assert connection.execute(select(t.Tally)).all() == []


def test_a_process_does_not_remember_without_end():
    own = OwnTallies()
    for number in range(MOST_KEPT + 50):
        own.add(str(number), NOON, MINUTE)
    assert len(own) == MOST_KEPT
    assert own.seen("1", NOON) is None
