"""What the statements on zones are made of, read in one go: finds, ages, and what cannot be placed.

Nothing here writes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from bot.evidence.ageing import Age, Teeth
from bot.evidence.columns import Finds
from bot.evidence.told_age import age_told
from bot.service.ages import all_ages
from bot.service.database import Database
from bot.service.finds import kept_finds


@dataclass(frozen=True, slots=True)
class Gathered:
    """Every kept find, and the ages that stand by code."""

    kept: Finds
    ages: Mapping[str, Age]

    @property
    def unplaced(self) -> tuple[str, ...]:
        """The codes of those without a place, a day or an animal."""
        return self.kept.only(~self.kept.placed).codes


def gather(database: Database, until: datetime, teeth: Teeth, region: str = "") -> Gathered:
    """All that was kept before `until`; sayings about ages count whenever they were said."""
    with database.read() as connection:
        kept = kept_finds(connection, until)
        told = all_ages(connection)
    ages = {code: age_told(teeth, sayings, region) for code, sayings in told.items()}
    return Gathered(kept, {code: age for code, age in ages.items() if isinstance(age, Age)})
