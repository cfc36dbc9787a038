"""A point in human terms: "3.1 km NW of Brindle Hut", or its figures; all within GSM-7.

The frames stand in dialogs/places.toml by language. Geodesics on WGS84.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bot.reading.offsets import GEOD
from bot.reading.values import Place

if TYPE_CHECKING:
    from bot.reading.landmarks import Landmarks

_DEGREE_M = 111_195


class Heading(NamedTuple):
    """How to get from one point to another: metres, degrees from north, eighth (0 N, 1 NE ...)."""

    metres: float
    azimuth: float
    eighth: int


def bearing_and_distance(lat1: float, lon1: float, lat2: float, lon2: float) -> Heading:
    """The geodesic from the first point to the second: (-41, 173) to (-40.98090, 172.97479)
    is 3,000 m at 315 degrees, eighth 7."""
    azimuth, _, metres = GEOD.inv(lon1, lat1, lon2, lat2)
    degrees = float(azimuth) % 360
    return Heading(float(metres), degrees, round(degrees / 45) % 8)


def plain_degrees(lat: float, lon: float) -> str:
    """ "-36.87012, 147.15003": five places, about a metre, no mark outside GSM-7."""
    return f"{_round(lat)}, {_round(lon)}"


def _round(degrees: float) -> str:
    return f"{round(degrees, 5) + 0.0:.5f}"


def plain_minutes(lat: float, lon: float) -> str:
    """ "36 52.207 S, 147 09.002 E": degrees and minutes as many receivers show them."""
    return f"{_minutes(lat, 'NS', 2)}, {_minutes(lon, 'EW', 3)}"


def _minutes(degrees: float, letters: str, width: int) -> str:
    thousandths = round(abs(degrees) * 60000)
    whole, rest = divmod(thousandths, 60000)
    return f"{whole:0{width}d} {rest / 1000:06.3f} {letters[degrees < 0]}"


def distance_words(metres: float, decimal: str = ".") -> str:
    """ "450 m", "3.1 km", "24 km": no finer than anybody would say it."""
    if metres < 975:
        return f"{max(round(metres / 50) * 50, 50)} m"
    km = metres / 1000
    return f"{km:.1f} km".replace(".", decimal) if km < 9.95 else f"{km:.0f} km"


def nearest_landmark(
    lat: float, lon: float, landmarks: Landmarks, apart_from: str = ""
) -> tuple[int, Heading] | None:
    """The landmark by which to name a point, and the heading from it to there. A long thing is
    a poor mark, so its reach counts against it; a name that stands twice is none at all."""
    lats, lons, reaches = landmarks.table.T
    east = ((lons - lon + 180) % 360 - 180) * math.cos(math.radians(lat))
    flat = np.hypot(east, lats - lat) * _DEGREE_M + 2 * reaches
    # The flat reckoning is off by less than anybody's idea of "nearest".
    for number in (int(n) for n in landmarks.marks[np.argsort(flat)]):
        if landmarks.places[number].name != apart_from:
            spot = landmarks.spots[number]
            return number, bearing_and_distance(spot.lat, spot.lon, lat, lon)
    return None


def describe_place(
    lat: float, lon: float, landmarks: Landmarks | None, language: str = "en", apart_from: str = ""
) -> str:
    """ "3.1 km NW of Brindle Hut", "at Brindle Hut"; the figures where nothing is near by name."""
    found = nearest_landmark(lat, lon, landmarks, apart_from) if landmarks else None
    if landmarks is None or found is None:
        return plain_degrees(lat, lon)
    number, way = found
    frame = landmarks.words.frame(language)
    name = landmarks.places[number].name
    if way.metres <= landmarks.spots[number].radius_m:
        return frame.at.format(landmark=name)
    return frame.away.format(
        distance=distance_words(way.metres, frame.decimal),
        direction=frame.points[way.eighth],
        landmark=name,
    )


def name_place(place: Place, landmarks: Landmarks | None, language: str = "en") -> str:
    """A place as a choice: a landmark's own name with where it lies, else the figures with it."""
    if place.landmark and place.notation == "landmark":
        where = describe_place(place.lat, place.lon, landmarks, language, place.landmark)
        return f"{place.landmark}, {where}"
    if place.landmark and place.reach_m and landmarks:
        return _within(place, landmarks, language)
    figures = plain_degrees(place.lat, place.lon)
    where = describe_place(place.lat, place.lon, landmarks, language)
    return figures if where == figures else f"{figures} ({where})"


def _within(place: Place, landmarks: Landmarks, language: str) -> str:
    """ "within 5 km of Brindle Hut": as vague as it was said, and no figures that would hide it."""
    frame = landmarks.words.frame(language)
    km = f"{place.reach_m / 1000:.3g} km".replace(".", frame.decimal)
    distance = km if place.reach_m >= 1000 else distance_words(place.reach_m, frame.decimal)
    return frame.within.format(distance=distance, landmark=place.landmark)
