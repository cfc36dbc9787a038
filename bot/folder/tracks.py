"""tracks.geojson -> the lines of a road and track network, and the speeds they are driven at.

A LineString or MultiLineString with `speed_kmh`, or a `class` that [travel] gives a speed to;
`oneway` true means that it is driven from its first point to its last only. Points are WGS84
degrees, longitude first (RFC 7946 section 3.1.1).
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from msgspec import Struct, field
from msgspec.structs import asdict

from bot.folder.tables import ProgrammeError

_FILE = "tracks.geojson"


_CLASSES = {"highway": 90.0, "sealed": 75.0, "gravel": 50.0, "track": 20.0, "rough": 10.0}


class Travel(Struct, frozen=True, forbid_unknown_fields=True):
    """How fast the network is driven, in km/h, and how far from it the way is still walked."""

    classes: dict[str, float] = field(default_factory=lambda: dict(_CLASSES))
    """The speed of each class of line; a programme's own table replaces this one."""
    walk_kmh: float = 3.0
    """From the nearest track to the pickup place."""
    yard_kmh: float = 20.0
    """From a base to the nearest road."""
    longest_walk_km: float = 5.0
    """Further than this from every line, the network says nothing of a place."""
    snap_m: float = 15.0
    """A line's loose end joins another line's vertex within so many metres."""
    detour: float = 2.0
    """A way may take so many times the minutes that a reach takes at the average speed."""

    def __post_init__(self) -> None:
        """ValueError for a speed, a distance or a detour that cannot be."""
        figures = {f"classes.{k}": v for k, v in self.classes.items()}
        figures |= {k: v for k, v in asdict(self).items() if k not in ("classes", "snap_m")}
        for name, figure in figures.items():
            least = 1.0 if name == "detour" else 0.1
            if not least <= figure < 1000:
                raise ValueError(f"travel.{name}: {figure:g} is not between {least:g} and 1000")
        if not 0 <= self.snap_m <= 500:
            raise ValueError(f"travel.snap_m: {self.snap_m:g} is not between 0 and 500")


class Track(NamedTuple):
    """One line: its points as (lon, lat), and the speed in km/h at which it is driven."""

    points: tuple[tuple[float, float], ...]
    speed_kmh: float
    oneway: bool = False


@dataclass(frozen=True, eq=False)
class Tracks:
    """A network's lines and how they are driven. Compared by identity, so that its graph is
    built once for each load."""

    lines: tuple[Track, ...]
    travel: Travel


def read_tracks(text: str, travel: Travel) -> Tracks:
    """The lines of a GeoJSON FeatureCollection; ProgrammeError names the feature at fault."""
    try:
        features = list(json.loads(text)["features"])
    except (json.JSONDecodeError, KeyError, TypeError) as fault:
        raise ProgrammeError(f"{_FILE}: not a FeatureCollection: {fault!r}") from fault
    lines: list[Track] = []
    for count, feature in enumerate(features, 1):
        where = f"{_FILE}: feature {count}"
        try:
            lines += _lines(where, feature["geometry"], feature.get("properties") or {}, travel)
        except (KeyError, TypeError, AttributeError, ValueError) as fault:
            if isinstance(fault, ProgrammeError):
                raise
            raise ProgrammeError(f"{where}: {fault!r}") from fault
    return Tracks(tuple(lines), travel)


def _lines(
    where: str, geometry: Mapping[str, Any], properties: Mapping[str, Any], travel: Travel
) -> Iterator[Track]:
    kind, speed = str(properties.get("class", "")), float(properties.get("speed_kmh") or 0.0)
    if not 0 <= speed <= 200:
        raise ProgrammeError(f"{where}: speed_kmh: {speed:g} is not between 0 and 200")
    if not speed and kind not in travel.classes:
        known = ", ".join(travel.classes)
        raise ProgrammeError(f"{where}: class: {kind!r} is none of {known}, and no speed_kmh")
    parts = geometry["coordinates"]
    if geometry["type"] == "LineString":
        parts = [parts]
    elif geometry["type"] != "MultiLineString":
        raise ProgrammeError(f"{where}: geometry: a {geometry['type']} is no line")
    for part in parts:
        points = tuple((float(p[0]), float(p[1])) for p in part)
        if len(points) < 2 or not all(abs(x) <= 180 and abs(y) <= 90 for x, y in points):
            raise ProgrammeError(f"{where}: coordinates: not a line of points in degrees")
        yield Track(points, speed or travel.classes[kind], properties.get("oneway") is True)
