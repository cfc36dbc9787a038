"""Frozen landmarks and a frame for the tests of places: the demo's own list may change freely."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from geographiclib.geodesic import Geodesic
from shapely.geometry import box

from bot.reading.landmarks import Landmarks, read_landmarks
from bot.reading.page import Page
from bot.reading.place_words import load_place_words
from bot.reading.scene import Area, Scene
from bot.reading.values import Found, Place, Unclear
from bot.shipped import shipped

ZONE = ZoneInfo("Australia/Melbourne")
NOW = datetime(2026, 11, 25, 14, 0, tzinfo=ZONE)


@dataclass(frozen=True)
class Mark:
    name: str
    lat: float
    lon: float
    also: tuple[str, ...] = ()
    kind: str = ""


# Invented names. The first stands where the geodesic check values begin (-41, 173).
MARKS = (
    Mark("Orrin Hut", -41.0, 173.0, ("Orrin",), "hut"),
    Mark("Orrin Creek", -41.02, 173.03, (), "creek"),
    Mark("Dalwick Saddle", -41.10, 173.10, ("the saddle",), "saddle"),
    Mark("Dalwick Track", -41.06, 173.06, (), "track"),
    Mark("Mount Teverin", -41.20, 173.20, (), "mountain"),
    Mark("Stony Creek", -41.30, 172.80, (), "creek"),
    Mark("Stony Creek", -40.80, 173.40, (), "creek"),
    Mark("Pell Hut", -41.15, 172.90, (), "hut"),
    Mark("Harlan's Hut", -41.25, 173.05, (), "hut"),
    Mark("Wimberley Station", -40.90, 172.85, ("Wimberley",), "station"),
    Mark("Quarrydale", -41.33, 173.30, (), "town"),
)
WORDS = load_place_words((shipped("dialogs") / "places.toml").read_text(encoding="utf-8"))
LANDMARKS = Landmarks.build(MARKS, WORDS)
AREA = Area(box(172.5, -41.5, 173.5, -40.5), near_km=30)


def frame(asked: str = "", area: Area | None = None, languages: tuple[str, ...] = ("en",)) -> Scene:
    return Scene(
        now=NOW,
        zone=ZONE,
        words=None,  # type: ignore[arg-type]
        landmarks=LANDMARKS,
        area=area,
        asked=asked,
        languages=languages,
    )


def landmarks_of(text: str, asked: str = "") -> tuple[Found[Place] | Unclear, ...]:
    return read_landmarks(Page(text), frame(asked))


def only(text: str, asked: str = "") -> Place:
    """The one place that a text gives, and no question."""
    (found,) = landmarks_of(text, asked)
    assert isinstance(found, Found), found
    return found.value


def unclear(text: str, asked: str = "") -> Unclear:
    """The one question that a text gives, and no place."""
    (found,) = landmarks_of(text, asked)
    assert isinstance(found, Unclear), found
    return found


WGS84 = Geodesic.WGS84
BY_NAME = {m.name: m for m in MARKS}
ORRIN = BY_NAME["Orrin Hut"]


def metres(place: Place, lat: float, lon: float) -> float:
    return WGS84.Inverse(place.lat, place.lon, lat, lon)["s12"]
