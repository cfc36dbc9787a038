"""PURE. Who is nearest: every field member ranked for one place and one instant.

Another rule for nearest is a change here and nowhere else. Nearest means soonest there: minutes
on the programme's road and track network where it gives one, else those of the straight line
(geodesic on WGS84) at its average speed; each row says what it was reckoned by.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from bot.fieldwork.duty import is_on_duty, next_duty
from bot.fieldwork.travel import (
    WGS84,
    Floats,
    Ints,
    Places,
    Spots,
    is_known,
    minutes_to,
    network_of,
    spots_of,
)
from bot.programme import Member, Programme

__all__ = [
    "WGS84",
    "Ranked",
    "Roster",
    "Wants",
    "WhyNot",
    "is_on_duty",
    "may_fetch",
    "next_duty",
    "rank",
    "soonest",
]

WhyNot = Literal["", "asked", "out_of_reach", "cannot_fetch", "full", "off_duty"]
By = Literal["geodesic", "network"]

EARTH_KM = 6371.0
SLACK = 1.01
"""The sphere is at most 0.6 % off the ellipsoid, so that this leaves nobody out of reach."""


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
        """Those who fetch, in the order of their ids."""
        return tuple(sorted((m for m in self.members if m.role == "field"), key=lambda m: m.id))

    @cached_property
    def bases(self) -> Places:
        """Where each of those lives, as (lat, lon)."""
        return tuple((m.lat, m.lon) for m in self.field_staff)

    @cached_property
    def table(self) -> Floats:
        """The bases as rows of latitude and longitude."""
        return np.array(self.bases, dtype=float).reshape(-1, 2)

    @cached_property
    def reaches(self) -> Floats:
        """How far each of those goes, in km."""
        return np.array([m.reach_km for m in self.field_staff], dtype=float)


class Wants(NamedTuple):
    """What a job asks of whoever fetches: the species ("" if unknown), and whether the whole
    carcase is to be removed."""

    species: str = ""
    whole_carcase: bool = False


ANYTHING = Wants()


class Ranked(Struct, frozen=True):
    """How one member stands to a place: kilometres in a straight line, minutes, and why he is
    not to be asked. `by` says what the minutes were reckoned by."""

    member: Member
    km: float
    minutes: float
    why_not: WhyNot
    by: By = "geodesic"


def rank(
    lat: float,
    lon: float,
    at: datetime,
    roster: Roster,
    programme: Programme,
    asked: frozenset[str] = frozenset(),
    wants: Wants = ANYTHING,
) -> tuple[Ranked, ...]:
    """All field staff: first those who may be asked, soonest there first, then the others.

    Whole minutes are compared, so that of two who are as near the one with fewer open jobs
    comes first.
    """
    everybody = np.arange(len(roster.field_staff))
    rows = list(_ranked(everybody, (lat, lon), at, roster, programme, asked, wants))
    # Sorting is stable: among those who may be asked, and among the others, the order stays.
    return tuple(sorted(rows, key=lambda row: row.why_not != ""))


def soonest(
    lat: float,
    lon: float,
    at: datetime,
    roster: Roster,
    programme: Programme,
    asked: frozenset[str] = frozenset(),
    wants: Wants = ANYTHING,
) -> Iterator[Ranked]:
    """Those who may be asked, soonest there first: the beginning of `rank`, reckoned no further
    than it is asked for. The search on the network widens until it has found enough."""
    near, done = _within_reach((lat, lon), roster), -1.0
    for limit in _widening(near, roster, programme):
        for row in _ranked(near, (lat, lon), at, roster, programme, asked, wants, limit):
            if row.minutes > done and not row.why_not:
                yield row
        done = limit


def _widening(near: Ints, roster: Roster, programme: Programme) -> Iterator[float]:
    """How far to look, in minutes, time after time; halves, so that whole minutes stay whole."""
    if programme.tracks is not None and programme.head.pickup.asked_first == "travel":
        longest = _most_minutes(float(np.max(roster.reaches[near], initial=0.0)), programme)
        yield from (limit for limit in (16.5, 64.5) if limit < longest)
        yield longest
    else:
        yield np.inf


def _ranked(
    which: Ints,
    place: tuple[float, float],
    at: datetime,
    roster: Roster,
    programme: Programme,
    asked: frozenset[str],
    wants: Wants,
    limit: float = np.inf,
) -> Iterator[Ranked]:
    """These of the field staff in the order of the way; each is looked at only when asked for."""
    which, km, minutes, known = _ways(which, place, roster, programme, limit)
    people = [roster.field_staff[n] for n in which]
    jobs = np.array([roster.open_jobs.get(m.id, 0) for m in people], dtype=int)
    first = [np.round(minutes), jobs]
    if programme.head.pickup.asked_first == "load":
        first.reverse()
    for n in np.lexsort((which, km, *reversed(first))):
        by: By = "network" if known[n] else "geodesic"
        row = Ranked(people[n], float(km[n]), float(minutes[n]), "", by)
        if people[n].id in asked:
            yield replace(row, why_not="asked")
        else:
            why_not = _why_not(row, int(jobs[n]), at, programme, wants)
            yield replace(row, why_not=why_not) if why_not else row


def _most_minutes(reach_km: float, programme: Programme) -> float:
    """The longest way on the network that counts as within a reach."""
    head = programme.head
    return reach_km / head.pickup.speed_kmh * 60.0 * head.travel.detour


def _why_not(row: Ranked, jobs: int, at: datetime, programme: Programme, wants: Wants) -> WhyNot:
    member = row.member
    if row.km > member.reach_km:
        return "out_of_reach"
    if row.by == "network" and row.minutes > _most_minutes(member.reach_km, programme):
        return "out_of_reach"
    if not may_fetch(member, wants):
        return "cannot_fetch"
    if member.most_jobs and jobs >= member.most_jobs:
        return "full"
    return "" if is_on_duty(member, at, programme.zone) else "off_duty"


def may_fetch(member: Member, wants: Wants) -> bool:
    """Whether a job is of the kind that a member fetches; an unknown species is anybody's."""
    if wants.whole_carcase and not member.whole_carcase:
        return False
    return not (wants.species and member.fetches) or wants.species in member.fetches


def _ways(
    which: Ints, place: tuple[float, float], roster: Roster, programme: Programme, limit: float
) -> tuple[Ints, Floats, Floats, NDArray[np.bool_]]:
    """Who of these is at most `limit` minutes away: straight kilometres, minutes, and whether
    the minutes are the network's. Where it knows nothing of the place, or of a base, the
    straight line stands."""
    found = _driven(which, place, roster, programme, limit)
    known = ~np.isnan(found)
    which, found, known = which[~(found > limit)], found[~(found > limit)], known[~(found > limit)]
    km = _kilometres(roster.table[which], place)
    straight = km / programme.head.pickup.speed_kmh * 60.0
    return which, km, np.where(known, found, straight), known


def _driven(
    which: Ints, place: tuple[float, float], roster: Roster, programme: Programme, limit: float
) -> Floats:
    """Minutes on the network, inf where it takes longer than any reach, NaN where it is not
    known."""
    network = network_of(programme.tracks) if programme.tracks else None
    if network is None or not len(which):
        return np.full(len(which), np.nan)
    whole = spots_of(network, roster.bases)
    spots = Spots(whole.edge[which], whole.share[which], whole.off_km[which])
    longest = _most_minutes(float(np.max(roster.reaches[which])), programme)
    found = minutes_to(network, place, spots, min(limit, longest))
    if found is None:
        return np.full(len(which), np.nan)
    return np.where(is_known(network, spots), found, np.nan)


def _kilometres(bases: Floats, place: tuple[float, float]) -> Floats:
    """Geodesic kilometres from each base to the place, all in one call."""
    count = len(bases)
    lats, lons = np.full(count, place[0]), np.full(count, place[1])
    _, _, metres = WGS84.inv(bases[:, 1], bases[:, 0], lons, lats)
    return np.asarray(metres, dtype=float) / 1000.0


def _within_reach(place: tuple[float, float], roster: Roster) -> Ints:
    """Which of the field staff may reach a place, by the quick reckoning on a sphere."""
    lats, lons = np.radians(roster.table).T
    lat, lon = np.radians(place)
    half = (
        np.sin((lats - lat) / 2) ** 2 + np.cos(lats) * np.cos(lat) * np.sin((lons - lon) / 2) ** 2
    )
    km = 2 * EARTH_KM * np.arcsin(np.sqrt(half))
    return np.flatnonzero(km <= roster.reaches * SLACK + 0.01)
