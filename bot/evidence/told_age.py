"""What people said of an animal's age: each saying a value, and the age that the sayings come to.

Law: sayings are kept as they were answered and never changed; the interval is reckoned from them
each time, so that a better table of teeth corrects what stands. The latest saying of a kind counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Literal

from msgspec import Struct

from bot.evidence.ageing import Age, NoAge, Teeth, age_by_teeth, age_in_laboratory, best_age


class AgeTold(Struct, frozen=True, tag="age_told"):
    """One saying. By teeth: `answers`, question key -> answer key of the species' table. By the
    laboratory: `lower` and `upper` in months, `upper` None open. `withdrawn` takes back all before.
    """

    at: datetime
    by: str
    how: Literal["teeth", "laboratory", "withdrawn"]
    species: str = ""
    answers: dict[str, str] = {}
    lower: float = 0.0
    upper: float | None = None
    method: str = ""


def age_told(teeth: Teeth, told: Sequence[AgeTold], region: str = "") -> Age | NoAge | None:
    """What all sayings about one animal come to, oldest first; None where nothing stands.

    The laboratory's age overrides that by teeth with its own interval.
    """
    by_teeth: Age | NoAge | None = None
    laboratory: Age | None = None
    for saying in told:
        if saying.how == "withdrawn":
            by_teeth = laboratory = None
        elif saying.how == "teeth":
            by_teeth = age_by_teeth(teeth, saying.species, saying.answers, region)
        else:
            method = saying.method or "cementum"
            laboratory = age_in_laboratory(saying.species, saying.lower, saying.upper, method)
    return laboratory if by_teeth is None else best_age(by_teeth, laboratory)
