"""When and where a positive animal was infected: a span of time and a band of distance.

Law: the span begins at the kill date minus the UPPER bound of the age, since the middle of the
interval would cut true exposure off, and it is open where that bound is. The distances stand in
dialogs/evidence.toml, each with its source; a sex or an age that is not known takes the widest.
"""

from __future__ import annotations

import calendar
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Literal

from msgspec import Struct

from bot.evidence.ageing import Age
from bot.reading.values import When

LAG_MONTHS = 2.0
"""How long lesions take to show. Of two pigs killed two months after release one had none, and
all later ones had them (Nugent, Whitford & Young 2002, J. Wildl. Dis. 38:665-677, abstract)."""
YOUNG_MONTHS = 12.0
"""Up to this upper bound a positive speaks of the present; a choice of ours, no source."""
DAYS_A_MONTH = 30.4375

Sex = Literal["male", "female", ""]
Kind = Literal["young", "old", "open", "no_age"]


class Window(Struct, frozen=True):
    """The span of infection, in the zone of the kill date. `start` None is open.

    `end` is the latest death less the lag; `lag_months` is 0 where the animal's whole life is
    shorter than the lag, or where no lag was asked for.
    """

    start: datetime | None
    end: datetime
    death: datetime
    lag_months: float
    kind: Kind


class Range(Struct, frozen=True, forbid_unknown_fields=True):
    """One published distance in km, and for whom it holds."""

    species: str
    kind: Literal["life", "dispersal", "farthest"]
    km: float
    source: str
    sex: Sex = ""
    from_months: float = 0.0


class Band(Struct, frozen=True):
    """Kilometres from the kill place. None is not available, never 0.

    Within `near` the animal most likely spent its life; from `wide` away it may have come;
    `far` is what single animals have gone.
    """

    near: float | None
    wide: float | None
    far: float | None
    sources: tuple[str, ...] = ()


def infection_window(
    kill: When,
    age: Age | None,
    lag_months: float = LAG_MONTHS,
    young_months: float = YOUNG_MONTHS,
) -> Window:
    """The span in which an animal that was positive by its lesions was infected.

    For one that is positive without lesions (by culture only), give `lag_months` 0.
    """
    upper = age.upper if age else None
    lag = lag_months if upper is None or upper > lag_months else 0.0
    start = None if upper is None else months_before(kill.earliest, upper)
    return Window(
        start=start,
        end=months_before(kill.latest, lag),
        death=kill.latest,
        lag_months=lag,
        kind=_kind(age, young_months),
    )


def months_before(moment: datetime, months: float) -> datetime:
    """A calendar date so many months earlier; the rest of a month is counted in days, and the
    31st becomes the last day of a shorter month."""
    whole = int(months)
    year, month = divmod(moment.year * 12 + moment.month - 1 - whole, 12)
    day = min(moment.day, calendar.monthrange(year, month + 1)[1])
    earlier = moment.replace(year=year, month=month + 1, day=day)
    return earlier - timedelta(days=round((months - whole) * DAYS_A_MONTH))


def distance_band(
    ranges: Sequence[Range],
    several: Mapping[str, Sequence[str]],
    species: str,
    sex: Sex = "",
    age: Age | None = None,
) -> Band:
    """How far from the kill place the infection may lie, by species, sex and upper age."""
    keys = several.get(species, (species,))
    oldest = None if age is None else age.upper
    rows = [r for r in ranges if r.species in keys and _holds(r, sex, oldest)]
    near = _widest(rows, "life")
    wide = _widest(rows, "dispersal")
    expected = any(r.kind == "dispersal" and r.species in keys for r in ranges)
    if near is not None and expected:
        wide = max(near, wide or 0.0)
    return Band(near, wide, _widest(rows, "farthest"), tuple(r.source for r in rows))


def _kind(age: Age | None, young_months: float) -> Kind:
    if age is None:
        return "no_age"
    if age.upper is None:
        return "open"
    return "young" if age.upper <= young_months else "old"


def _holds(row: Range, sex: Sex, oldest: float | None) -> bool:
    """Whether a row may hold for this animal: what is not known excludes nothing."""
    fits_sex = not row.sex or not sex or row.sex == sex
    return fits_sex and (oldest is None or oldest >= row.from_months)


def _widest(rows: Sequence[Range], kind: str) -> float | None:
    return max((r.km for r in rows if r.kind == kind), default=None)
