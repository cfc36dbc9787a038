"""Who could fetch a head, by minutes, with why each is or is not free: read for a person who
gives it out by hand."""

from __future__ import annotations

from datetime import datetime

from bot.fieldwork.dispatch import Ranked, rank
from bot.fieldwork.state import Pickup
from bot.programme import Programme
from bot.service.database import Database
from bot.service.roster import roster


def fetchers(
    database: Database, programme: Programme, pickup: Pickup, now: datetime
) -> tuple[Ranked, ...]:
    """All field staff as the pickup's own search would rank them now, the free ones first."""
    with database.read() as connection:
        people = roster(connection)
    return rank(pickup.lat, pickup.lon, now, people, programme, pickup.asked)
