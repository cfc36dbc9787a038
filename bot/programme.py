"""A programme's folder -> frozen values, checked whole. Reads files once, at start.

A folder holds programme.toml, staff.csv, landmarks.csv and zones.geojson, and may hold
tracks.geojson; the readers of single files are in bot/folder. A fault is a ProgrammeError that
names the file and the field; nothing is half loaded.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec
from msgspec import Struct
from shapely.geometry import Point, shape
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from bot.folder.spoiling import Spoiling
from bot.folder.staff import Member, e164, read_roster
from bot.folder.tables import ProgrammeError, number_in, rows
from bot.folder.tracks import Tracks, Travel, read_tracks

__all__ = [
    "FILES",
    "OPTIONAL_FILES",
    "Contacts",
    "GatewayRow",
    "Head",
    "Landmark",
    "Law",
    "Member",
    "Patience",
    "Pickup",
    "Privacy",
    "Programme",
    "ProgrammeError",
    "Zone",
    "content_hash",
    "e164",
    "load_programme",
    "read_folder",
    "read_roster",
]

FILES = ("programme.toml", "staff.csv", "landmarks.csv", "zones.geojson")
OPTIONAL_FILES = ("tracks.geojson",)
"""What a folder may hold besides; without tracks the way is reckoned in a straight line."""


class Law(Struct, frozen=True, forbid_unknown_fields=True):
    """What the local law lets a hunter do with a suspect carcase."""

    head_may_move: bool = True
    carcase_may_move: bool = False
    """Whether a whole suspect carcase may be taken away, by those on the roster who have what it
    takes. It may not where the head may not."""
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
    parts: int = 5
    """How long a long text waits for its missing parts; what is there is then handed on."""
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
    asked_first: Literal["travel", "load"] = "travel"
    """Whether the soonest there is asked first, or who carries the fewest open jobs."""
    two_on_call: bool = False
    """Whether two who are on call are asked at once in the night."""


class Sending(Struct, frozen=True, forbid_unknown_fields=True):
    """What may be sent, in billed segments; 0 is no limit. Advice and what a person wrote always
    go; the rest waits for room, and the coordinator is told once."""

    hunter_day: int = 200
    """To one hunter within 24 hours: a whole talk takes about 20."""
    programme_hour: int = 20_000
    """To everybody within an hour, offers to staff among it."""


class Laboratory(Struct, frozen=True, forbid_unknown_fields=True):
    """Where specimens go, and whether it may give a jaw back once the teeth are read."""

    name: str = ""
    address: str = ""
    phone: str = ""
    releases_jaws: bool = True


class Results(Struct, frozen=True, forbid_unknown_fields=True):
    """Whether a coordinator must approve a result before the hunter hears it."""

    approve: bool = True


class Privacy(Struct, frozen=True, forbid_unknown_fields=True):
    """What the first text ever says on who keeps the data, and what it costs."""

    keeper: str
    free_of_charge: bool = True
    words_days: int = 0
    """How long a hunter's words, name and number are kept after the last that happened to any of
    his finds; 0 is for ever."""
    photos_days: int = 0
    """How long photos are kept; 0 is for ever."""


class GatewayRow(Struct, frozen=True, forbid_unknown_fields=True):
    """One gateway's settings. `kind` is a key of GATEWAYS; the rest is read by that kind.

    `secrets` names environment variables, never secrets themselves; the first signs, all verify.
    """

    kind: str
    secrets: tuple[str, ...] = ()
    send_url: str = ""
    options: dict[str, str] = {}


class Evidence(Struct, frozen=True, forbid_unknown_fields=True):
    """What the statements on zones rest on; bot/evidence/zones.py says what each figure means and
    where its default comes from. `teeth_region` is a region of teeth.toml where teeth come earlier.
    """

    teeth_region: str = ""
    cell_km: float = 1.0
    pstar: float = 0.01
    catch: float = 0.2
    prior: float = 0.5
    p_intro: float = 0.01


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
    sending: Sending = Sending()
    laboratory: Laboratory = Laboratory()
    results: Results = Results()
    travel: Travel = Travel()
    evidence: Evidence = Evidence()
    spoiling: Spoiling | None = None
    """How long a head lasts; without it no head has a time by which it is best fetched."""
    gateways: dict[str, GatewayRow] = {}
    custom_grids: dict[str, str] = {}
    """More grids by name, e.g. {"lv95" = "EPSG:2056"}: eastings and northings in metres."""


class Landmark(Struct, frozen=True):
    """A named place of the programme. `also` holds other spellings and local short forms."""

    name: str
    lat: float
    lon: float
    also: tuple[str, ...] = ()
    kind: str = ""
    words: str = ""
    """Of a depot: its address and hours, as a hunter is told them."""


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
    tracks: Tracks | None = None
    """The road and track network, where the programme gives one."""

    @property
    def oldest(self) -> timedelta:
        """How old a find may be without being asked about."""
        return timedelta(days=self.head.oldest_days)

    def zone_of(self, lat: float, lon: float) -> str:
        """The name of the zone that holds a point, or ""."""
        return next((z.name for z in self.zones if z.shape.contains(Point(lon, lat))), "")

    @property
    def depots(self) -> tuple[Landmark, ...]:
        """Where a hunter may hand a head in himself, in the order of the file."""
        return tuple(mark for mark in self.landmarks if mark.kind == "depot")

    @property
    def takes_carcases(self) -> bool:
        """Whether the law lets a whole carcase be taken, and anybody here has what it takes."""
        law = self.head.law
        able = any(member.whole_carcase for member in self.roster)
        return law.head_may_move and law.carcase_may_move and able

    def member(self, number: str) -> Member | None:
        """Who on the roster has this E.164 number."""
        return next((m for m in self.roster if m.number == number), None)


def read_folder(folder: Path) -> dict[str, str]:
    """The texts of a programme's files, by name. A missing folder or file is a ProgrammeError."""
    found: dict[str, str] = {}
    for name in (*FILES, *OPTIONAL_FILES):
        path = folder / name
        if name in OPTIONAL_FILES and not path.exists():
            continue
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
    if min(head.privacy.words_days, head.privacy.photos_days) < 0:
        raise ProgrammeError("programme.toml: privacy: words_days and photos_days are 0 or more")
    zones = tuple(_zones(files["zones.geojson"]))
    if not zones:
        raise ProgrammeError("zones.geojson: no zone with a name")
    return Programme(
        head=head,
        zone=_zone_info(head.zone),
        roster=tuple(read_roster(files["staff.csv"], head.country, head.gateways)),
        landmarks=tuple(_landmarks(files["landmarks.csv"])),
        zones=zones,
        area=unary_union([z.shape for z in zones]),
        hash=content_hash(files),
        files=dict(files),
        tracks=_tracks(files, head.travel),
    )


def _tracks(files: Mapping[str, str], travel: Travel) -> Tracks | None:
    text = files.get("tracks.geojson")
    return read_tracks(text, travel) if text else None


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


def _landmarks(text: str) -> Iterator[Landmark]:
    for where, row in rows("landmarks.csv", text, ("name", "lat", "lon")):
        if not row["name"]:
            raise ProgrammeError(f"{where}: name: empty")
        also = tuple(a.strip() for a in row.get("also", "").split(";") if a.strip())
        lat, lon = number_in(where, row, "lat", -90, 90), number_in(where, row, "lon", -180, 180)
        yield Landmark(row["name"], lat, lon, also, row.get("kind", ""), row.get("words", ""))
