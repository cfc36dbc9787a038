"""What `move`, `backup` and `restore` share: the bar, and the words at the end."""

from __future__ import annotations

import sys
from dataclasses import dataclass

from bot.service.copying import Copied

WIDTH = 30


@dataclass(slots=True)
class Bar:
    """How far it is, on one line of standard error, where that is a terminal."""

    shown: str = ""

    def tell(self, doing: str, done: int, goal: int) -> None:
        """Draw it anew if it would look otherwise."""
        share = done / goal if goal else 1.0
        filled = int(share * WIDTH)
        line = f"{doing:<12} [{'#' * filled}{'.' * (WIDTH - filled)}] {done:,} of {goal:,}"
        whole = f"{doing} {int(share * 100)}"
        if whole != self.shown and sys.stderr.isatty():
            end = "\n" if done == goal else ""
            print(f"\r{line}", end=end, file=sys.stderr, flush=True)
        self.shown = whole


def summed_up(copied: Copied) -> str:
    """What was done, in a few lines."""
    lines = [f"{number:>12,}  {name}" for name, number in sorted(copied.rows.items()) if number]
    lines.append(f"{copied.total:>12,}  rows in all, each compared with the original")
    same = copied.replayed.talks - len(copied.replayed.differing)
    lines.append(f"{same:>12,}  of the {copied.replayed.talks:,} newest talks play again as stored")
    if copied.replayed.differing:
        lines.append(
            "The others were stored by another version of the program: "
            + ", ".join(copied.replayed.differing[:5])
        )
    return "\n".join(lines)
