"""staff.csv -> the people of the roster, checked field by field."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from datetime import date
from typing import Literal

import phonenumbers
from msgspec import Struct

from bot.folder.tables import ProgrammeError, number_in, rows


class Member(Struct, frozen=True):
    """One person of the roster. `number` is E.164; base in WGS84 degrees; reach in km."""

    id: str
    name: str
    role: Literal["field", "coordinator"]
    number: str
    lat: float
    lon: float
    reach_km: float
    days: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    from_minute: int = 0
    to_minute: int = 1440
    """Minutes after local midnight; `to` before `from` runs over midnight."""
    leave: tuple[tuple[date, date], ...] = ()
    """First and last day of each leave: no shift begins on these days."""
    on_call: tuple[int, ...] = ()
    """Days on whose evening a night on call begins, besides the hours above."""
    call_from: int = 1080
    call_to: int = 360
    fetches: tuple[str, ...] = ()
    """The species that he fetches; none named is all."""
    whole_carcase: bool = False
    """Whether he has what it takes to remove a whole carcase."""
    channel: str = ""
    """The gateway that his texts go by; "" is the programme's own."""
    most_jobs: int = 0
    """So many open jobs he carries at most; 0 is no bound."""
    off_duty: bool = False
    """Off duty whatever his hours are, until somebody says otherwise."""


def read_roster(text: str, country: str, gateways: Container[str] = ()) -> Iterator[Member]:
    """The people in a staff.csv, in order; a fault names its line and column. `gateways` are
    the channels that a member may name."""
    seen: set[str] = set()
    for where, row in rows("staff.csv", text, ("id", "name", "role", "phone", "lat", "lon")):
        member = _member(where, row, country)
        if member.id in seen:
            raise ProgrammeError(f"{where}: id: {member.id!r} stands twice")
        if member.channel and member.channel not in gateways:
            raise ProgrammeError(
                f"{where}: channel: no gateway {member.channel!r} in programme.toml"
            )
        seen.add(member.id)
        yield member


def _member(where: str, row: Mapping[str, str], country: str) -> Member:
    role = row["role"]
    if role != "field" and role != "coordinator":
        raise ProgrammeError(f"{where}: role: {role!r} is neither field nor coordinator")
    for field in ("id", "name"):
        if not row[field]:
            raise ProgrammeError(f"{where}: {field}: empty")
    start, end = _hours(where, row.get("hours", ""))
    call_from, call_to = _hours(where, row.get("on_call_hours") or "18:00-06:00", "on_call_hours")
    return Member(
        id=row["id"],
        name=row["name"],
        role="field" if role == "field" else "coordinator",
        number=_phone(where, row["phone"], country),
        lat=number_in(where, row, "lat", -90, 90),
        lon=number_in(where, row, "lon", -180, 180),
        reach_km=number_in(where, row, "reach_km", 0, 2000) if row.get("reach_km") else 100.0,
        days=_days(where, row.get("days", "")),
        from_minute=start,
        to_minute=end,
        leave=_leave(where, row.get("leave", "")),
        on_call=_days(where, row["on_call"], "on_call") if row.get("on_call") else (),
        call_from=call_from,
        call_to=call_to,
        fetches=tuple(row.get("fetches", "").lower().replace(";", " ").split()),
        whole_carcase=_yes(where, row, "whole_carcase"),
        channel=row.get("channel", ""),
        most_jobs=int(number_in(where, row, "most_jobs", 0, 999)) if row.get("most_jobs") else 0,
        off_duty=_yes(where, row, "off_duty"),
    )


def _phone(where: str, raw: str, country: str) -> str:
    number = e164(raw, country)
    if number is None:
        raise ProgrammeError(f"{where}: phone: {raw!r} cannot be a telephone number")
    return number


def e164(raw: str, country: str) -> str | None:
    """One E.164 number from what a gateway or a person wrote, or None.

    Possible rather than valid, since numbers for fiction are possible only. A run of digits
    without plus that is too long for the country is read as international: "61491570006".
    """
    text = raw.strip()
    for attempt in (text, f"+{text}" if text[:1].isdigit() and text[:1] != "0" else ""):
        if not attempt or len(attempt) > 40:
            continue
        region = None if attempt.startswith("+") else country
        if region and _longer_than_national(attempt, country):
            continue
        try:
            number = phonenumbers.parse(attempt, region)
        except phonenumbers.NumberParseException:
            continue
        if phonenumbers.is_possible_number(number):
            return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
    return None


def _longer_than_national(raw: str, country: str) -> bool:
    """A number without plus or trunk zero that already starts with a country's code in full."""
    digits = "".join(c for c in raw if c.isdigit())
    if digits.startswith("0"):
        return False
    metadata = phonenumbers.PhoneMetadata.metadata_for_region(country)
    if metadata is None or metadata.general_desc is None:
        return False
    return len(digits) > max(metadata.general_desc.possible_length)


DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _days(where: str, text: str, field: str = "days") -> tuple[int, ...]:
    """ "mon-fri sun" -> (0, 1, 2, 3, 4, 6); empty is every day."""
    found: list[int] = []
    for part in text.lower().replace(",", " ").split():
        first, _, last = part.partition("-")
        if first not in DAYS or (last and last not in DAYS):
            raise ProgrammeError(f"{where}: {field}: {part!r} is not like mon or mon-fri")
        start, end = DAYS.index(first), DAYS.index(last or first)
        found += [d % 7 for d in range(start, end + 1 if end >= start else end + 8)]
    return tuple(sorted(set(found))) or tuple(range(7))


def _hours(where: str, text: str, field: str = "hours") -> tuple[int, int]:
    """ "07:00-18:30" -> minutes after midnight; empty is the whole day."""
    if not text:
        return 0, 1440
    try:
        (h1, m1), (h2, m2) = (part.strip().split(":") for part in text.split("-"))
        start, end = int(h1) * 60 + int(m1), int(h2) * 60 + int(m2)
    except ValueError:
        raise ProgrammeError(f"{where}: {field}: {text!r} is not like 07:00-18:30") from None
    if not (0 <= start <= 1440 and 0 <= end <= 1440):
        raise ProgrammeError(f"{where}: {field}: {text!r} is outside the day")
    return start, end


def _leave(where: str, text: str) -> tuple[tuple[date, date], ...]:
    """ "2026-12-20..2027-01-05; 2027-02-01" -> the first and the last day of each."""
    found: list[tuple[date, date]] = []
    for part in filter(None, (p.strip() for p in text.split(";"))):
        first, _, last = (p.strip() for p in part.partition(".."))
        try:
            span = date.fromisoformat(first), date.fromisoformat(last or first)
        except ValueError:
            raise ProgrammeError(
                f"{where}: leave: {part!r} is not like 2026-12-20..2027-01-05"
            ) from None
        if span[1] < span[0]:
            raise ProgrammeError(f"{where}: leave: {part!r} ends before it begins")
        found.append(span)
    return tuple(sorted(found))


def _yes(where: str, row: Mapping[str, str], field: str) -> bool:
    said = row.get(field, "").lower()
    if said not in ("", "yes", "no"):
        raise ProgrammeError(f"{where}: {field}: {said!r} is neither yes nor no")
    return said == "yes"
