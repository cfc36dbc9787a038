"""What each member of staff has in hand, read for a round of the day."""

from __future__ import annotations

from sqlalchemy import Connection, select

from bot.fieldwork.staff_day import StaffDay, staff_day
from bot.fieldwork.state import Pickup, load
from bot.programme import Programme
from bot.service import tables
from bot.service.database import Database
from bot.service.roster import roster

_P = tables.Pickup
_IN_HAND = select(_P.state).where(_P.name.in_(("taken", "collected"))).order_by(_P.opened_at, _P.id)


def in_hand(connection: Connection, staff_id: str) -> tuple[Pickup, ...]:
    """The pickups that somebody has taken or collected, the oldest first."""
    rows = connection.scalars(_IN_HAND.where(_P.staff_id == staff_id))
    return tuple(load(state) for state in rows)


def day_of(database: Database, staff_id: str, programme: Programme) -> StaffDay | None:
    """The day of one of the field staff; None if nobody of that id is on the roster now."""
    with database.read() as connection:
        member = roster(connection).by_id.get(staff_id)
        if member is None or member.role != "field":
            return None
        pickups = in_hand(connection, staff_id)
    return staff_day(member, pickups, programme)
