"""What the statements on zones are made of, read in one go: finds, ages, and what cannot be placed.

Nothing here writes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from bot.evidence.ageing import Age, Teeth
from bot.evidence.finds import Find
from bot.evidence.told_age import age_told
from bot.service.ages import all_ages
from bot.service.database import Database
from bot.service.finds import Counted, counted_finds


@dataclass(frozen=True, slots=True)
class Gathered:
    """The finds that can be placed, the ages that stand by code, and every kept find.

    `unplaced` are the codes of those without a place, a day or an animal.
    """

    finds: tuple[Find, ...]
    ages: Mapping[str, Age]
    kept: tuple[Counted, ...]
    unplaced: tuple[str, ...]


def gather(database: Database, until: datetime, teeth: Teeth, region: str = "") -> Gathered:
    """All that was kept before `until`; sayings about ages count whenever they were said."""
    with database.read() as connection:
        kept = tuple(counted_finds(connection, until))
        told = all_ages(connection)
    ages = {code: age_told(teeth, sayings, region) for code, sayings in told.items()}
    return Gathered(
        finds=tuple(k.find for k in kept if k.find),
        ages={code: age for code, age in ages.items() if isinstance(age, Age)},
        kept=kept,
        unplaced=tuple(k.code for k in kept if k.find is None),
    )
