"""PURE. Who is nearest: every field member ranked for one place and one instant.

Another rule for nearest is a change here and nowhere else. Distances are geodesics on WGS84;
minutes follow from the programme's average speed, and each row says what they were reckoned by.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Literal

from msgspec import Struct
from pyproj import Geod

from bot.fieldwork.duty import is_on_duty, next_duty
from bot.programme import Member, Programme

__all__ = ["Ranked", "Roster", "WhyNot", "is_on_duty", "next_duty", "rank"]

WGS84 = Geod(ellps="WGS84")

WhyNot = Literal["", "asked", "out_of_reach", "off_duty"]


@dataclass(frozen=True)
class Roster:
    """The people as they are now, and how many open jobs each of them carries (by id)."""

    members: tuple[Member, ...]
    open_jobs: Mapping[str, int] = field(default_factory=dict)

    @cached_property
    def by_id(self) -> dict[str, Member]:
        """Every member by id."""
        return {m.id: m for m in self.members}

    @cached_property
    def field_staff(self) -> tuple[Member, ...]:
        """Those who fetch."""
        return tuple(m for m in self.members if m.role == "field")


class Ranked(Struct, frozen=True):
    """How one member stands to a place: kilometres, minutes, and why he is not to be asked.

    `by` says what the way was reckoned by: "geodesic" is the straight line on the ellipsoid.
    """

    member: Member
    km: float
    minutes: float
    why_not: WhyNot
    by: Literal["geodesic"] = "geodesic"


def rank(
    lat: float,
    lon: float,
    at: datetime,
    roster: Roster,
    programme: Programme,
    asked: frozenset[str] = frozenset(),
) -> tuple[Ranked, ...]:
    """All field staff: first those who may be asked, soonest there first, then the others.

    Whole minutes are compared, so that of two who are as near the one with fewer open jobs
    comes first.
    """
    people = roster.field_staff
    speed = programme.head.pickup.speed_kmh
    rows = [
        Ranked(m, km, km / speed * 60.0, _why_not(m, km, at, programme, asked))
        for m, km in zip(people, _distances(lat, lon, people), strict=True)
    ]

    def order(row: Ranked) -> tuple[bool, int, int, float, str]:
        jobs = roster.open_jobs.get(row.member.id, 0)
        return row.why_not != "", round(row.minutes), jobs, row.km, row.member.id

    return tuple(sorted(rows, key=order))


def _distances(lat: float, lon: float, people: Iterable[Member]) -> list[float]:
    """Kilometres from each base to the place, all in one call."""
    bases = [(m.lon, m.lat) for m in people]
    if not bases:
        return []
    lons, lats = zip(*bases, strict=True)
    there = [lon] * len(bases), [lat] * len(bases)
    _, _, metres = WGS84.inv(list(lons), list(lats), *there)
    return [float(m) / 1000.0 for m in metres]


def _why_not(
    member: Member, km: float, at: datetime, programme: Programme, asked: frozenset[str]
) -> WhyNot:
    if member.id in asked:
        return "asked"
    if km > member.reach_km:
        return "out_of_reach"
    return "" if is_on_duty(member, at, programme.zone) else "off_duty"
