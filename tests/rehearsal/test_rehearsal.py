"""A rehearsal on a small case: the same every time, in bounds, honest in hindsight."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from itertools import pairwise, product
from random import Random

import pytest

from bot.__main__ import main
from bot.commands.rehearse import rehearsed
from bot.fieldwork.dispatch import is_on_duty
from bot.fieldwork.pickups import REASONS
from bot.rehearsal.hindsight import best_driven, best_of_day, driven
from bot.rehearsal.playing import Played, Rehearsal
from bot.rehearsal.season import Habits, capacity, draw_finds, reaction, staff_with_bounds
from tests.fieldwork.rosters import DIALOG, PROGRAMME

START = date(2026, 11, 2)
HABITS = Habits(jobs_a_day=2)
PEOPLE = staff_with_bounds(PROGRAMME, HABITS)
FINDS = draw_finds(5, PROGRAMME, START, 6, 25)


def play(seed: int = 5, habits: Habits = HABITS) -> list[Played]:
    return Rehearsal(PROGRAMME, DIALOG, PEOPLE, habits, seed).run(FINDS)


def test_the_same_seed_plays_the_same_season() -> None:
    rows = [rehearsed(PROGRAMME, DIALOG, HABITS, 5, START, 6, 25) for _ in range(2)]
    assert rows[0] == rows[1]
    assert sum(rows[0].handed_over.values()) == round(25 * rows[0].to_coordinator)
    assert set(rows[0].handed_over) <= set(REASONS)
    assert rehearsed(PROGRAMME, DIALOG, HABITS, 6, START, 6, 25) != rows[0]


def test_every_find_comes_to_an_end() -> None:
    played = play()
    assert len(played) == 25
    for one in played:
        assert one.pickup.state in ("handed_in", "with_coordinator")
        assert (one.pickup.state == "handed_in") == (one.taken_at is not None)
    assert any(one.taken_at for one in played)
    assert any(one.given_up for one in played)


def test_nobody_takes_more_in_a_day_than_he_may() -> None:
    loads = Counter(
        (one.taken_by, one.taken_at.astimezone(PROGRAMME.zone).date())
        for one in play()
        if one.taken_at
    )
    assert max(loads.values()) == 2


def test_staff_answer_as_drawn_and_on_duty() -> None:
    people = {m.id: m for m in PEOPLE}
    for one in play():
        for offer in one.pickup.offers:
            assert is_on_duty(people[offer.staff_id], offer.at, PROGRAMME.zone)
            drawn = reaction(5, one.find.number, offer.staff_id, HABITS)
            in_time = drawn.answer and offer.at + drawn.after < offer.until
            assert offer.answer == (drawn.answer if in_time else "lapsed")


def test_one_job_after_the_other() -> None:
    """Two jobs of one person never overlap: there, at the place, and home again."""
    by_person: dict[str, list[Played]] = {}
    for one in play():
        if one.taken_at:
            by_person.setdefault(one.taken_by, []).append(one)
    for who, jobs in by_person.items():
        jobs.sort(key=lambda p: p.collected_at or p.find.at)
        for before, after in pairwise(jobs):
            assert before.collected_at and after.collected_at  # noqa: PT018
            out = timedelta(minutes=after.ways[who] + HABITS.at_the_place)
            home = timedelta(minutes=before.ways[who])
            assert after.collected_at - out >= before.collected_at + home - timedelta(seconds=1)


def test_hindsight_is_never_worse_than_what_was_driven() -> None:
    for seed in range(5):
        played = Rehearsal(PROGRAMME, DIALOG, PEOPLE, HABITS, seed).run(FINDS)
        best = best_driven(played, PEOPLE, PROGRAMME, HABITS, seed)
        assert 0 < best <= driven(played) + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_the_best_day_equals_every_assignment_tried(seed: int) -> None:
    draw = Random(seed)
    bounds = {"a": 1, "b": 2, "c": 2}
    ways = [
        {who: draw.uniform(5, 90) for who in bounds if draw.random() < 0.8} | {"c": 60.0}
        for _ in range(4)
    ]
    costs = [
        sum(2 * way[who] for way, who in zip(ways, chosen, strict=True))
        for chosen in product(bounds, repeat=4)
        if all(who in way for way, who in zip(ways, chosen, strict=True))
        and all(chosen.count(who) <= most for who, most in bounds.items())
    ]
    if costs:
        assert best_of_day(ways, bounds) == pytest.approx(min(costs))
    else:
        with pytest.raises(ValueError, match="no assignment"):
            best_of_day(ways, bounds)


def test_capacity_counts_the_days_on_which_somebody_works() -> None:
    """Two work all six days, one from Monday to Friday; two jobs a day each."""
    assert capacity(PEOPLE, PROGRAMME, START, 6) == 2 * (6 + 6 + 5)


def test_refusals_cost_offers_and_not_the_law() -> None:
    willing = Rehearsal(
        PROGRAMME, DIALOG, PEOPLE, Habits(refuses=0.0, silent=0.0, jobs_a_day=9), 5
    ).run(FINDS)
    asked = sum(len(p.pickup.offers) for p in willing)
    assert asked < sum(len(p.pickup.offers) for p in play(habits=Habits(refuses=0.6)))


def test_the_command_prints_a_row_for_each_load(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["rehearse", "--days", "2", "--finds", "3", "--seed", "2", "--jobs-a-day", "1"])
    out, err = capsys.readouterr()
    assert code == 0
    assert sum("%" in row for row in out.splitlines()) == 4
    assert "3/3 finds" in err
    assert main(["rehearse", "--finds", "0"]) == 2
