"""The roster as the database holds it. A staff.csv is an import; the database owns the people."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any

import msgspec
from sqlalchemy import Connection, bindparam, func, select, update

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.state import LIVE
from bot.programme import Member
from bot.service import tables
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.upsert import upsert

_STAFF = tables.Staff
_TERMS = (
    "leave",
    "on_call",
    "call_from",
    "call_to",
    "fetches",
    "whole_carcase",
    "channel",
    "most_jobs",
    "off_duty",
)
"""What stands together in the column `terms`; only what differs from what is usual."""
_USUAL = dict(
    zip(
        Member.__struct_fields__[-len(Member.__struct_defaults__) :],
        Member.__struct_defaults__,
        strict=True,
    )
)
_COLUMNS = (
    _STAFF.id,
    _STAFF.name,
    _STAFF.role,
    _STAFF.number,
    _STAFF.lat,
    _STAFF.lon,
    _STAFF.reach_km,
    _STAFF.days,
    _STAFF.from_minute,
    _STAFF.to_minute,
    _STAFF.terms,
)
_ACTIVE = select(*_COLUMNS).where(_STAFF.active).order_by(_STAFF.id)
_AT_NUMBER = _ACTIVE.where(_STAFF.number == bindparam("called"))
_JOBS = (
    select(tables.Pickup.staff_id, func.count())
    .where(tables.Pickup.name.in_(sorted(LIVE)), tables.Pickup.staff_id != "")
    .group_by(tables.Pickup.staff_id)
)


def import_roster(database: Database, members: Iterable[Member]) -> int:
    """Make the roster exactly these people; who is left out keeps his row, inactive."""
    rows = [_row(m) for m in members]
    with database.write() as connection:
        connection.execute(update(_STAFF).values(active=False))
        for row in rows:
            upsert(connection, _STAFF, row, ("id",))
    return len(rows)


def roster(connection: Connection) -> Roster:
    """Everybody active, and how many live pickups each has or is asked for."""
    members = tuple(_member(row) for row in connection.execute(_ACTIVE))
    jobs = {row[0]: row[1] for row in connection.execute(_JOBS)}
    return Roster(members, jobs)


class MemberMovedOnError(LookupError):
    """Somebody else has changed a member since he was looked at."""


def mark_of(member: Member) -> str:
    """What a form carries back, to tell whether the member is still as it showed him."""
    return hashlib.sha256(msgspec.json.encode(member)).hexdigest()[:16]


def change_member(database: Database, member: Member, seen: str) -> None:
    """Write down a member as he is from now on. LookupError if nobody active has his id,
    MemberMovedOnError if he is not any more what `seen` was the mark of."""
    locked = _ACTIVE.where(_STAFF.id == member.id).with_for_update()
    with database.write() as connection:
        row = connection.execute(locked).one_or_none()
        if row is None:
            raise LookupError(member.id)
        if mark_of(_member(row)) != seen:
            raise MemberMovedOnError(member.id)
        connection.execute(update(_STAFF).where(_STAFF.id == member.id).values(_row(member)))


def member_at(connection: Connection, number: str) -> Member | None:
    """Who on the roster has this E.164 number."""
    row = connection.execute(_AT_NUMBER, {"called": number}).first()
    return _member(row) if row else None


def _row(member: Member) -> dict[str, Any]:
    days = "".join(map(str, member.days))
    fields = ("id", "name", "role", "number", "lat", "lon", "reach_km", "from_minute", "to_minute")
    terms = msgspec.json.encode(_own_terms(member)).decode()
    return {f: getattr(member, f) for f in fields} | {"days": days, "terms": terms, "active": True}


def _own_terms(member: Member) -> dict[str, Any]:
    return {f: v for f in _TERMS if (v := getattr(member, f)) != _USUAL[f]}


def _member(row: Found) -> Member:
    values = dict(zip((c.key for c in _COLUMNS), row, strict=True))
    values["days"] = tuple(int(d) for d in values["days"])
    terms = values.pop("terms")
    # Most people have no terms of their own, and thousands of rows are read for each find.
    return (
        Member(**values)
        if terms == "{}"
        else msgspec.convert(values | msgspec.json.decode(terms), Member)
    )
