"""What the service holds in memory while texts come in: it must not grow with their number."""

from __future__ import annotations

import gc
import itertools
from datetime import UTC, datetime, timedelta

import psutil

from bot.messages import Heard
from bot.service.codes import draw
from bot.service.intake import Intake
from tests.faults.texts import number_of

SHARES = (0.1, 0.25, 0.5, 0.75, 1.0)
HUNTERS = 79_000
"""Of the numbers kept for fiction; whoever is at the end begins again."""
MOST_GROWTH = 1.05
"""From half of the texts to all of them: beyond it, something is kept for each."""


def measure_memory(intake: Intake, talks: tuple[tuple[str, ...], ...], texts: int) -> int:
    """Take so many texts in this process and print its resident memory on the way; 1 where it
    goes on growing."""
    intake = Intake(intake.database, intake.rules, intake.programme, draw)
    process, held = psutil.Process(), dict[float, float]()
    clock, began = datetime.now(UTC), datetime.now(UTC)
    marks = {int(texts * share): share for share in SHARES}
    for n, (hunter, body) in enumerate(_texts(talks), 1):
        clock += timedelta(milliseconds=500)
        heard = Heard(f"m{n}", "paddock", number_of(hunter % HUNTERS), body, clock)
        intake.hear(heard, clock)
        if n in marks:
            gc.collect()
            held[marks[n]] = process.memory_info().rss / 1e6
            took = (datetime.now(UTC) - began).total_seconds()
            told = f"{held[marks[n]]:7.1f} MB resident  {len(gc.get_objects()):8} objects"
            print(f"{n:8} texts  {told}  after {took:.0f} s", flush=True)
        if n == texts:
            break
    growth = held[1.0] / held[0.5]
    print(f"from half to all             {growth:8.3f}   at most {MOST_GROWTH}")
    return int(growth > MOST_GROWTH)


def _texts(talks: tuple[tuple[str, ...], ...]) -> itertools.chain[tuple[int, str]]:
    """Every text of every hunter's talk, without end."""
    return itertools.chain.from_iterable(
        ((hunter, body) for body in talks[hunter % len(talks)]) for hunter in itertools.count(1)
    )
