"""What breaks when: a seeded schedule, every kind in turn, and a note of when each really fell."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.faults.carrier import Carrier
from tests.faults.house import House, Postgres, fill

CARRIER_S = 1.2
FULL_S = 1.5

CARRIERS = ("500", "hang", "drop")


def may_repeat(kind: str) -> bool:
    """Whether, after such a fault, a text that was handed over may not have been marked, and so
    goes out again. How the carrier answered stands in its book, for each text by itself."""
    return kind not in CARRIERS and not kind.startswith("kill web")


@dataclass(frozen=True, slots=True)
class Fault:
    """What broke, from when to when."""

    kind: str
    began: float
    ended: float


@dataclass(slots=True)
class Breaker:
    """Breaks one thing at a time."""

    house: House
    carrier: Carrier
    postgres: Postgres | None
    disk: Path | None
    done: list[Fault] = field(default_factory=list)

    def kinds(self) -> dict[str, Callable[[], None]]:
        """Everything that can be broken here."""
        kinds = {f"kill {name}": kept.kill for name, kept in self.house.kept.items()}
        kinds |= {mode: self._answering(mode) for mode in CARRIERS}
        if self.postgres:
            kinds |= {"kill a backend": self.postgres.kill_backend, "cut": self.postgres.cut}
        if self.disk:
            disk = self.disk
            kinds["full"] = lambda: fill(disk, FULL_S)
        return kinds

    def _answering(self, mode: str) -> Callable[[], None]:
        def answer() -> None:
            self.carrier.mode = mode
            time.sleep(CARRIER_S)
            self.carrier.mode = "ok"

        return answer

    def break_all(self, seed: int, first_s: float, last_s: float, every_s: float) -> None:
        """Break one thing after another, in shuffled rounds of every kind."""
        dice, kinds = random.Random(seed), self.kinds()
        began, round_ = time.monotonic(), list[str]()
        time.sleep(first_s)
        while time.monotonic() - began < last_s:
            round_ = round_ or dice.sample(sorted(kinds), len(kinds))
            kind = round_.pop()
            at = time.monotonic()
            kinds[kind]()
            self.done.append(Fault(kind, at, time.monotonic()))
            time.sleep(dice.uniform(0.5, 1.5) * every_s)
