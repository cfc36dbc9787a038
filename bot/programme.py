"""A programme's folder -> frozen values, checked whole. Reads files once, at start.

A folder holds programme.toml, staff.csv, landmarks.csv and zones.geojson. A fault is a
ProgrammeError that names the file and the field; nothing is half loaded.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec
import phonenumbers
from msgspec import Struct
from shapely.geometry import Point, shape
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

FILES = ("programme.toml", "staff.csv", "landmarks.csv", "zones.geojson")


class ProgrammeError(ValueError):
    """The programme's own files are at fault; the message names the file and the field."""


class Law(Struct, frozen=True, forbid_unknown_fields=True):
    """What the local law lets a hunter do with a suspect carcase."""

    head_may_move: bool = True
    call_authority: str = ""
    """The authority's number or "" ; said where the carcase must be left or reported."""


class Contacts(Struct, frozen=True, forbid_unknown_fields=True):
    """Numbers that texts name, written as a hunter would dial them."""

    emergency: str
    """Ambulance and rescue, for a person in trouble."""
    animal_emergency: str
    """The programme's own emergency line, for blisters, bleeding, many dead."""
    coordinator: str = ""
    address: str = ""


class Patience(Struct, frozen=True, forbid_unknown_fields=True):
    """How long to wait, in minutes, before silence becomes an event."""

    reminder: int = 180
    give_up: int = 1260
    offer_day: int = 30
    offer_night: int = 60
    collect: int = 2160
    """From taken to collected; later than this the coordinator looks."""
    hand_in: int = 2880
    """From collected to handed in; later than this the coordinator looks."""
    duty: int = 600
    """How long a pickup may wait for the next one to come on duty."""
    retake: int = 2880


class Pickup(Struct, frozen=True, forbid_unknown_fields=True):
    """Dispatch rules. Kilometres, km/h, and local hours."""

    speed_kmh: float = 60.0
    offers_before_coordinator: int = 4
    night_from: int = 21
    night_to: int = 6
    jaw_return: bool = True


class Privacy(Struct, frozen=True, forbid_unknown_fields=True):
    """What the first text ever says on who keeps the data, and what it costs."""

    keeper: str
    free_of_charge: bool = True


class GatewayRow(Struct, frozen=True, forbid_unknown_fields=True):
    """One gateway's settings. `kind` is a key of GATEWAYS; the rest is read by that kind.

    `secrets` names environment variables, never secrets themselves; the first signs, all verify.
    """

    kind: str
    secrets: tuple[str, ...] = ()
    send_url: str = ""
    options: dict[str, str] = {}


class Head(Struct, frozen=True, forbid_unknown_fields=True):
    """The shape of programme.toml."""

    name: str
    country: str
    zone: str
    contacts: Contacts
    privacy: Privacy
    invented: bool = False
    languages: tuple[str, ...] = ("en",)
    date_order: Literal["DMY", "MDY", "YMD"] = "DMY"
    oldest_days: int = 60
    near_km: float = 30.0
    grids: tuple[str, ...] = ()
    species: tuple[str, ...] = ("pig", "deer")
    guided_check: bool = False
    law: Law = Law()
    patience: Patience = Patience()
    pickup: Pickup = Pickup()
    gateways: dict[str, GatewayRow] = {}
    custom_grids: dict[str, str] = {}
    """More grids by name, e.g. {"lv95" = "EPSG:2056"}: eastings and northings in metres."""


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


class Landmark(Struct, frozen=True):
    """A named place of the programme. `also` holds other spellings and local short forms."""

    name: str
    lat: float
    lon: float
    also: tuple[str, ...] = ()
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Zone:
    """A part of the area about which a statement is made."""

    name: str
    shape: BaseGeometry


@dataclass(frozen=True, slots=True)
class Programme:
    """One programme, loaded. `hash` names the very files it came from."""

    head: Head
    zone: ZoneInfo
    roster: tuple[Member, ...]
    landmarks: tuple[Landmark, ...]
    zones: tuple[Zone, ...]
    area: BaseGeometry
    hash: str
    files: Mapping[str, str]

    @property
    def oldest(self) -> timedelta:
        """How old a find may be without being asked about."""
        return timedelta(days=self.head.oldest_days)

    def zone_of(self, lat: float, lon: float) -> str:
        """The name of the zone that holds a point, or ""."""
        return next((z.name for z in self.zones if z.shape.contains(Point(lon, lat))), "")

    def member(self, number: str) -> Member | None:
        """Who on the roster has this E.164 number."""
        return next((m for m in self.roster if m.number == number), None)


def read_folder(folder: Path) -> dict[str, str]:
    """The texts of a programme's files, by name. A missing folder or file is a ProgrammeError."""
    found: dict[str, str] = {}
    for name in FILES:
        path = folder / name
        try:
            found[name] = path.read_text(encoding="utf-8-sig")
        except FileNotFoundError:
            raise ProgrammeError(f"{path.name} is missing from the folder {folder}") from None
        except UnicodeDecodeError:
            raise ProgrammeError(f"{path.name} is not UTF-8 text") from None
    return found


def content_hash(files: Mapping[str, str]) -> str:
    """The name of a set of files by their content: the same texts give the same 16 digits."""
    packed = json.dumps(dict(sorted(files.items())), ensure_ascii=False).encode()
    return hashlib.sha256(packed).hexdigest()[:16]


def load_programme(files: Mapping[str, str]) -> Programme:
    """Turn the texts of a programme's files into a Programme, or say what is wrong where."""
    head = _head(files["programme.toml"])
    zones = tuple(_zones(files["zones.geojson"]))
    if not zones:
        raise ProgrammeError("zones.geojson: no zone with a name")
    return Programme(
        head=head,
        zone=_zone_info(head.zone),
        roster=tuple(read_roster(files["staff.csv"], head.country)),
        landmarks=tuple(_landmarks(files["landmarks.csv"])),
        zones=zones,
        area=unary_union([z.shape for z in zones]),
        hash=content_hash(files),
        files=dict(files),
    )


def _head(text: str) -> Head:
    try:
        return msgspec.toml.decode(text, type=Head)
    except (msgspec.DecodeError, ValueError) as fault:
        raise ProgrammeError(f"programme.toml: {fault}") from fault


def _zone_info(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        raise ProgrammeError(f"programme.toml: zone: no time zone {name!r}") from None


def _zones(text: str) -> Iterator[Zone]:
    try:
        features = list(json.loads(text)["features"])
    except (json.JSONDecodeError, KeyError, TypeError) as fault:
        raise ProgrammeError(f"zones.geojson: not a FeatureCollection: {fault!r}") from fault
    for number, feature in enumerate(features, 1):
        try:
            yield Zone(str(feature["properties"]["name"]).strip(), shape(feature["geometry"]))
        except (KeyError, TypeError, AttributeError, ValueError) as fault:
            raise ProgrammeError(f"zones.geojson: feature {number}: {fault!r}") from fault


def _rows(name: str, text: str, needs: tuple[str, ...]) -> Iterator[tuple[str, dict[str, str]]]:
    """Each row of a CSV as a dict, with the words that say where it stands."""
    table = csv.DictReader(io.StringIO(text))
    missing = [n for n in needs if n not in (table.fieldnames or ())]
    if missing:
        raise ProgrammeError(f"{name}: line 1: no column {', '.join(missing)}")
    for row in table:
        yield f"{name}: line {table.line_num}", {k: (v or "").strip() for k, v in row.items() if k}


def _number(where: str, row: Mapping[str, str], field: str, low: float, high: float) -> float:
    try:
        value = float(row[field])
    except ValueError:
        raise ProgrammeError(f"{where}: {field}: {row[field]!r} is not a number") from None
    if not low <= value <= high:
        raise ProgrammeError(f"{where}: {field}: {value:g} is not between {low:g} and {high:g}")
    return value


def _landmarks(text: str) -> Iterator[Landmark]:
    for where, row in _rows("landmarks.csv", text, ("name", "lat", "lon")):
        if not row["name"]:
            raise ProgrammeError(f"{where}: name: empty")
        also = tuple(a.strip() for a in row.get("also", "").split(";") if a.strip())
        lat, lon = _number(where, row, "lat", -90, 90), _number(where, row, "lon", -180, 180)
        yield Landmark(row["name"], lat, lon, also, row.get("kind", ""))


def read_roster(text: str, country: str) -> Iterator[Member]:
    """The people in a staff.csv, in order; a fault names its line and column."""
    seen: set[str] = set()
    for where, row in _rows("staff.csv", text, ("id", "name", "role", "phone", "lat", "lon")):
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
        lat=_number(where, row, "lat", -90, 90),
        lon=_number(where, row, "lon", -180, 180),
        reach_km=_number(where, row, "reach_km", 0, 2000) if row.get("reach_km") else 100.0,
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
