"""A zone's account month by month, and how it moves with what is assumed."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from bot.evidence.figures import FigureError
from bot.evidence.freedom import pfree_over_time
from bot.evidence.grid import CellGrid
from bot.evidence.months import Covering, Looks, to_keep
from bot.evidence.zones import (
    MOVED,
    Assumptions,
    account,
    evidence,
    evidence_after,
    halved_and_doubled,
    withheld,
)
from tests.evidence.areas import looks, square

GRID, ZONES = square(40, 20)
LOOKS = looks(5, 120, 40.0, 6)
CLEAN = np.zeros((4, 6))


def test_months_follow_the_published_update():
    """The spatial part only supplies SSe by month; the rest is `pfree_over_time`, which the
    published series judge."""
    found, _ = account(GRID, ZONES, LOOKS, CLEAN, Assumptions())
    _, expected = pfree_over_time(0.5, found.sse, 0.01, first="discounted")
    assert found.pfree == pytest.approx(expected)
    assert (found.pooled >= found.sse.max(axis=1)).all()


def test_every_answer_carries_its_assumptions_and_its_moves():
    results, _ = evidence(GRID, ZONES, LOOKS, CLEAN)
    for result in results:
        assert result.assumptions == Assumptions()
        assert set(result.moves) == set(MOVED)
        assert sum(r.animals for r in results) == 120
        assert 0 < result.pfree < 1
        low, high = result.moves["catch"]
        assert low < result.pfree < high
        low, high = result.moves["p_intro"]
        assert low > result.pfree > high
        low, high = result.moves["pstar"]
        assert low < result.pfree < high


def test_moves_are_the_answer_under_moved_assumptions():
    results, _ = evidence(GRID, ZONES, LOOKS, CLEAN)
    for name in MOVED:
        for side, moved in enumerate(halved_and_doubled(Assumptions(), name)):
            found, _ = account(GRID, ZONES, LOOKS, CLEAN, moved)
            for z, result in enumerate(results):
                assert result.moves[name][side] == pytest.approx(found.pfree[z, -1], rel=1e-9)


def test_looking_cannot_become_better_than_certain():
    sure = looks(5, 50, 40.0, 6, se=0.9)
    better, _ = account(GRID, ZONES, sure, CLEAN, Assumptions(se=2.0))
    certain, _ = account(GRID, ZONES, replace_se(sure, 1.0), CLEAN, Assumptions())
    assert better.sse == pytest.approx(certain.sse)


def replace_se(some, se):
    return type(some)(some.x, some.y, np.full(len(some.x), se), some.radius_95_km, some.month)


def test_a_zone_with_a_confirmed_positive_has_no_probability_of_freedom():
    """In no month, not even before: the disease does not start on the day it is confirmed."""
    confirmed = CLEAN.copy()
    confirmed[2, 4] = 1
    results, _ = evidence(GRID, ZONES, LOOKS, confirmed)
    assert [r.confirmed for r in results] == [0, 0, 1, 0]
    shown = results[2]
    assert shown.pfree is None
    assert all(m.pfree is None and m.prior is None for m in shown.months)
    assert all(pair == (None, None) for pair in shown.moves.values())
    assert shown.sse is not None
    assert results[1].pfree is not None


def test_a_zone_where_nobody_looked_keeps_its_discounted_prior():
    one_corner = looks(5, 40, 4.0, 6)
    far = type(one_corner)(
        one_corner.x - 18,
        one_corner.y - 18,
        one_corner.se,
        one_corner.radius_95_km,
        one_corner.month,
    )
    results, _ = evidence(GRID, ZONES, far, CLEAN)
    assert results[3].animals == 0
    assert results[3].sse == pytest.approx(0, abs=1e-6)
    assert results[3].pfree == pytest.approx(0.5 * 0.99**6, rel=1e-4)


@pytest.mark.parametrize(
    ("name", "value", "low", "high"),
    [
        ("pstar", 0.01, 0.005, 0.02),
        ("catch", 0.8, 0.4, 1.0),
        ("reach", 1.0, 0.5, 2.0),
        ("prior", 0.5, 1 / 3, 2 / 3),
        ("prior", 0.95, 19 / 21, 38 / 39),
    ],
)
def test_halved_and_doubled(name, value, low, high):
    some = replace(Assumptions(), **{name: value})
    halved, doubled = halved_and_doubled(some, name)
    assert getattr(halved, name) == pytest.approx(low)
    assert getattr(doubled, name) == pytest.approx(high)
    assert replace(halved, **{name: value}) == some


def test_confirmed_must_fit_the_zones():
    with pytest.raises(FigureError, match="confirmed"):
        evidence(GRID, ZONES, LOOKS, np.zeros((3, 6)))


def test_the_band_holds_every_moved_answer_of_its_month():
    grid, zones = square(20, 10)
    confirmed = np.zeros((4, 3))
    confirmed[1, 2] = 1
    results, _ = evidence(grid, zones, looks(7, 40, 20.0, 3), confirmed)
    for result in (results[0], results[2], results[3]):
        low, high = result.band[-1]
        ends = [value for pair in result.moves.values() for value in (*pair, result.pfree)]
        assert (low, high) == (min(ends), max(ends))
        assert all(a <= m.pfree <= b for (a, b), m in zip(result.band, result.months, strict=True))
    assert results[1].band == ((None, None),) * 3, "a confirmed zone has no probability"
    assert withheld(results[0], 1).band == ((None, None),) * 3


def test_a_find_more_is_added_to_its_month_and_all_others_are_taken_over():
    """The figures are those of summing everything anew, to rounding."""
    most = looks(7, 400, 40.0, 6)
    one_less = Looks(*(getattr(most, f)[:-1] for f in ("x", "y", "se", "radius_95_km", "month")))
    _, _, seen = evidence_after({}, GRID, ZONES, one_less, CLEAN)
    results, coverage, after = evidence_after(seen, GRID, ZONES, most, CLEAN)
    anew, whole = evidence(GRID, ZONES, most, CLEAN)
    assert coverage.log_miss == pytest.approx(whole.log_miss, rel=1e-4, abs=1e-9)
    for one, other in zip(results, anew, strict=True):
        assert one.pfree == pytest.approx(other.pfree, rel=1e-4)
        assert one.animals == other.animals
    touched = {key[1] for key, month in after.items() if month is not seen[key]}
    assert touched == {int(most.month[-1])}


def test_what_was_seen_before_is_only_a_saving():
    """Other animals in the same months, and a first month that has moved: summed anew."""
    _, _, seen = evidence_after({}, GRID, ZONES, looks(8, 300, 40.0, 6), CLEAN)
    for first in (0, 3):
        found, _, _ = evidence_after(seen, GRID, ZONES, LOOKS, CLEAN, first_month=first)
        assert found == evidence(GRID, ZONES, LOOKS, CLEAN)[0]


def test_more_than_there_is_room_for_is_not_kept():
    wide = CellGrid(-37.0, 147.0, 0.0, 0.0, 2000, 2000)
    months = {(Covering(1.0, 0.2), n): None for n in range(20)}
    assert to_keep(wide, {}, months) == {}
    few = {key: months[key] for key in list(months)[:12]}
    assert to_keep(wide, months, few) == few
