"""PURE. Who is nearest: every field member ranked for one place and one instant.

Another rule for nearest is a change here and nowhere else. Nearest means soonest there: minutes
on the programme's road and track network where it gives one, else those of the straight line
(geodesic on WGS84) at its average speed; each row says what it was reckoned by.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from bot.fieldwork.duty import is_on_duty, next_duty
from bot.fieldwork.people import Roster
from bot.fieldwork.travel import (
    WGS84,
    Floats,
    Ints,
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
    "in_reach",
    "is_on_duty",
    "may_fetch",
    "next_duty",
    "rank",
    "soonest",
]

WhyNot = Literal["", "asked", "out_of_reach", "cannot_fetch", "full", "off_duty"]
By = Literal["geodesic", "network"]

FIRST_LOOK, WIDER = 8.5, 1.6
"""Minutes beyond the guess in which somebody should be found, and how a search that found nobody
grows."""


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
    question = _Question((lat, lon), at, roster, programme, asked, wants)
    # Sorting is stable: among those who may be asked, and among the others, the order stays.
    return tuple(sorted(_ranked(everybody, question), key=lambda row: row.why_not != ""))


def in_reach(
    lat: float,
    lon: float,
    at: datetime,
    roster: Roster,
    programme: Programme,
    asked: frozenset[str] = frozenset(),
    wants: Wants = ANYTHING,
) -> Iterator[Ranked]:
    """The rows of `rank` without those who are out of reach; in the order of the way alone."""
    near, _ = roster.nearest((lat, lon))
    question = _Question((lat, lon), at, roster, programme, asked, wants)
    return (r for r in _ranked(np.sort(near), question) if r.why_not != "out_of_reach")


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
    than it is asked for. The search on the network looks as far as it should find the first of
    them, and widens until it has found enough."""
    question = _Question((lat, lon), at, roster, programme, asked, wants)
    near, km = roster.nearest((lat, lon))
    perhaps = roster.perhaps_on_duty(near, at, programme.zone)
    near, km, done = near[perhaps], km[perhaps], -1.0
    for limit in _widening(near, km, question):
        for row in _ranked(near, question, limit):
            if done < row.minutes <= limit and not row.why_not:
                yield row
        done = limit


@dataclass(frozen=True)
class _Question:
    """Who may be asked for one job at one instant; what is found of a person is kept."""

    place: tuple[float, float]
    at: datetime
    roster: Roster
    programme: Programme
    asked: frozenset[str]
    wants: Wants
    found: dict[int, WhyNot] = field(default_factory=dict)

    def why_not(self, n: int) -> WhyNot:
        """Why the nth of the field staff is not to be asked, wherever he is; "" if he may be."""
        if n not in self.found:
            self.found[n] = self._why_not(self.roster.field_staff[n])
        return self.found[n]

    def _why_not(self, member: Member) -> WhyNot:
        if member.id in self.asked:
            return "asked"
        if not may_fetch(member, self.wants):
            return "cannot_fetch"
        if member.most_jobs and self.roster.open_jobs.get(member.id, 0) >= member.most_jobs:
            return "full"
        return "" if is_on_duty(member, self.at, self.programme.zone) else "off_duty"


def _widening(near: Ints, km: Floats, question: _Question) -> Iterator[float]:
    """How far to look for these, the nearest first, in minutes, time after time; the last is
    without end. Halves, so that whole minutes stay whole. Nothing where nobody may be asked."""
    programme = question.programme
    network = network_of(programme.tracks) if programme.tracks else None
    if network is not None and programme.head.pickup.asked_first == "travel":
        first = next((n for n, who in enumerate(near) if not question.why_not(int(who))), None)
        if first is None:
            return
        longest = _most_minutes(float(np.max(question.roster.reaches[near])), programme)
        limit = float(np.floor(network.pace * km[first] + FIRST_LOOK) + 0.5)
        while limit < longest:
            yield limit
            limit = float(np.floor(limit * WIDER) + 0.5)
    yield float("inf")


def _ranked(which: Ints, question: _Question, limit: float = np.inf) -> Iterator[Ranked]:
    """These of the field staff in the order of the way; each is looked at only when asked for."""
    roster, programme = question.roster, question.programme
    which, km, minutes, known = _ways(which, question.place, roster, programme, limit)
    people = [roster.field_staff[n] for n in which]
    jobs = np.array([roster.open_jobs.get(m.id, 0) for m in people], dtype=int)
    first = [np.round(minutes), jobs]
    if programme.head.pickup.asked_first == "load":
        first.reverse()
    for n in np.lexsort((which, km, *reversed(first))):
        by: By = "network" if known[n] else "geodesic"
        row = Ranked(people[n], float(km[n]), float(minutes[n]), "", by)
        far: WhyNot = "out_of_reach" if _is_beyond(row, programme) else ""
        why_not = "asked" if row.member.id in question.asked else far
        why_not = why_not or question.why_not(int(which[n]))
        yield replace(row, why_not=why_not) if why_not else row


def _most_minutes(reach_km: float, programme: Programme) -> float:
    """The longest way on the network that counts as within a reach."""
    head = programme.head
    return reach_km / head.pickup.speed_kmh * 60.0 * head.travel.detour


def _is_beyond(row: Ranked, programme: Programme) -> bool:
    """Whether a way is longer than a member's reach, in a straight line or on the network."""
    if row.km > row.member.reach_km:
        return True
    return row.by == "network" and row.minutes > _most_minutes(row.member.reach_km, programme)


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
