"""Where a find's code comes from: chance, which the pure rooms may not have."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from random import Random

from bot.reading.codes import ALPHABET, LENGTH, is_code, spell, with_check

Chance = Callable[[str], str]
"""Picks one character of a string."""

Draw = Callable[[int], str]
"""Gives a code with so many characters more than usual."""


def draw(longer: int = 0, pick: Chance = secrets.choice) -> str:
    """A code as it is stored ("K7R-4TX"); whether it is free, only the database knows."""
    while True:
        code = with_check("".join(pick(ALPHABET) for _ in range(LENGTH - 1 + longer)))
        if is_code(code):
            return spell(code)


def seeded(seed: int) -> Draw:
    """The same codes in the same order: for tests, demos and transcripts only."""
    # Not a secret: a code names a find, and reveals nothing of it to whoever knows it.
    chance = Random(seed)  # noqa: S311 - for tests and demos

    def next_code(longer: int = 0) -> str:
        return draw(longer, chance.choice)

    return next_code
