"""staff.csv -> the people of the roster, checked field by field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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


def read_roster(text: str, country: str) -> Iterator[Member]:
    """The people in a staff.csv, in order; a fault names its line and column."""
    seen: set[str] = set()
    for where, row in rows("staff.csv", text, ("id", "name", "role", "phone", "lat", "lon")):
        member = _member(where, row, country)
        if member.id in seen:
            raise ProgrammeError(f"{where}: id: {member.id!r} stands twice")
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


_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _days(where: str, text: str) -> tuple[int, ...]:
    """ "mon-fri sun" -> (0, 1, 2, 3, 4, 6); empty is every day."""
    found: list[int] = []
    for part in text.lower().replace(",", " ").split():
        first, _, last = part.partition("-")
        if first not in _DAYS or (last and last not in _DAYS):
            raise ProgrammeError(f"{where}: days: {part!r} is not like mon or mon-fri")
        start, end = _DAYS.index(first), _DAYS.index(last or first)
        found += [d % 7 for d in range(start, end + 1 if end >= start else end + 8)]
    return tuple(sorted(set(found))) or tuple(range(7))


def _hours(where: str, text: str) -> tuple[int, int]:
    """ "07:00-18:30" -> minutes after midnight; empty is the whole day."""
    if not text:
        return 0, 1440
    try:
        (h1, m1), (h2, m2) = (part.strip().split(":") for part in text.split("-"))
        start, end = int(h1) * 60 + int(m1), int(h2) * 60 + int(m2)
    except ValueError:
        raise ProgrammeError(f"{where}: hours: {text!r} is not like 07:00-18:30") from None
    if not (0 <= start <= 1440 and 0 <= end <= 1440):
        raise ProgrammeError(f"{where}: hours: {text!r} is outside the day")
    return start, end
