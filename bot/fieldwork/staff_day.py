"""PURE. One member's day: the round to what he has taken, and what he has with him to hand in."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from bot.fieldwork.round_text import DayRound, Stop, day_round
from bot.fieldwork.state import Pickup
from bot.programme import Member, Programme


class StaffDay(Struct, frozen=True):
    """The round of one member: `jobs` are its pickups in the order of `plan.stops`, `on_board`
    those that he has collected (or visited) and not handed in."""

    member: Member
    plan: DayRound
    jobs: tuple[Pickup, ...]
    on_board: tuple[Pickup, ...]


def staff_day(member: Member, pickups: Sequence[Pickup], programme: Programme) -> StaffDay:
    """The day of one member, from his base and back to it; pickups of others, or that need no
    drive of his, are left out."""
    own = [p for p in pickups if p.staff_id == member.id]
    taken = {p.code: p for p in own if p.state == "taken"}
    plan = day_round((member.lat, member.lon), list(map(_stop, taken.values())), programme)
    return StaffDay(
        member,
        plan,
        tuple(taken[stop.code] for stop in plan.stops),
        tuple(p for p in own if p.state == "collected"),
    )


def _stop(pickup: Pickup) -> Stop:
    return Stop(
        code=pickup.code,
        place=pickup.place_words,
        lat=pickup.lat,
        lon=pickup.lon,
        what=pickup.details,
        contact=pickup.contact,
    )
