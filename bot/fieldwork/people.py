"""PURE. The people of a roster as they are now, with what is asked of all of them at once kept as
tables: bases, reaches, and the clock of their shifts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.fieldwork.duty import WHOLE_DAY
from bot.fieldwork.travel import Floats, Ints, Places
from bot.programme import Member

EARTH_KM = 6371.0
SLACK = 1.01
"""The sphere is at most 0.6 % off the ellipsoid, so that this leaves nobody out of reach."""
DOUBT_MINUTES = 180
"""No clock is changed by more: so near to its ends a shift has to be looked at by itself."""

FEW = 200


class Shifts(NamedTuple):
    """On which weekdays each person's shift begins (bit n is weekday n), and from which local
    minute to which it lasts, past 1440 over midnight."""

    days: Ints
    start: Ints
    end: Ints


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

    @cached_property
    def shifts(self) -> tuple[Shifts, Shifts]:
        """Their hours, and their nights on call."""
        people = self.field_staff
        return (
            _shifts([(m.days, m.from_minute, m.to_minute) for m in people]),
            _shifts([(m.on_call, m.call_from, m.call_to) for m in people]),
        )

    def nearest(self, place: tuple[float, float]) -> tuple[Ints, Floats]:
        """Which of the field staff may reach a place, the nearest first, and their kilometres by
        the quick reckoning on a sphere."""
        lats, lons = np.radians(self.table).T
        lat, lon = np.radians(place)
        half = (
            np.sin((lats - lat) / 2) ** 2
            + np.cos(lats) * np.cos(lat) * np.sin((lons - lon) / 2) ** 2
        )
        km = 2 * EARTH_KM * np.arcsin(np.sqrt(half))
        near = np.flatnonzero(km <= self.reaches * SLACK + 0.01)
        near = near[np.argsort(km[near], kind="stable")]
        return near, km[near]

    def perhaps_on_duty(self, which: Ints, at: datetime, zone: tzinfo) -> NDArray[np.bool_]:
        """Which of these are not off duty by far, as their clock says. Of few it says nothing:
        to make the tables takes longer than to look at each."""
        if len(which) <= FEW:
            return np.ones(len(which), dtype=bool)
        local = at.astimezone(zone)
        minute, today = local.hour * 60 + local.minute, local.weekday()
        on = np.zeros(len(which), dtype=bool)
        for shifts in self.shifts:
            first, last = shifts.start[which] - DOUBT_MINUTES, shifts.end[which] + DOUBT_MINUTES
            for day in (-1, 0, 1):
                # A shift of tomorrow may begin within the doubt, one of yesterday still last.
                now = minute - day * WHOLE_DAY
                begins = shifts.days[which] >> (today + day) % 7 & 1 == 1
                on |= begins & (first <= now) & (now <= last)
        return on


def _shifts(terms: list[tuple[tuple[int, ...], int, int]]) -> Shifts:
    bits = {days: sum(1 << day for day in days) for days in {days for days, _, _ in terms}}
    days = np.array([bits[days] for days, _, _ in terms], dtype=int)
    start = np.array([first for _, first, _ in terms], dtype=int)
    end = np.array([last for _, _, last in terms], dtype=int)
    return Shifts(days, start, np.where(end <= start, end + WHOLE_DAY, end))
