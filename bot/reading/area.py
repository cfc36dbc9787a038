"""Plausibility: a place lies inside the programme's area, or near it, or it is asked about.

What it might have been instead (swapped, sign lost, minutes written as decimals, a digit lost,
doubled or exchanged) is OFFERED where it falls inside the area, and never applied.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator

from msgspec.structs import replace
from shapely import intersects_xy
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from bot.reading.describe import bearing_and_distance, name_place
from bot.reading.scene import Scene
from bot.reading.values import Choice, Found, Place, Unclear

Reread = Callable[[str], Iterable[Place]]
"""Reads a changed notation again: all places that it then gives."""

MOST_CHOICES = 4
_LONGEST_HEARD = 300
_SHORT = 60
"""Characters of a notation that is changed and read again: some dozens of short readings."""

_NUMBER = re.compile(r"\d{1,3}[.,]\d{1,8}")

# Two points closer than this are one choice (a receiver tells no finer).
_SAME_DEGREES = 1e-4


def kilometres_outside(place: Place, shape: BaseGeometry) -> float:
    """How far a place lies outside an area, 0 inside it; to the border's nearest point on
    the flat map, which at these distances is the nearest."""
    if shape.is_empty or intersects_xy(shape, place.lon, place.lat):
        return 0.0
    border, _ = nearest_points(shape, Point(place.lon, place.lat))
    return bearing_and_distance(border.y, border.x, place.lat, place.lon).metres / 1000


def plausible(
    found: Found[Place], scene: Scene, reread: Reread | None = None
) -> Found[Place] | Unclear:
    """The place as it is inside the area, noted near it, asked about ("outside_area") beyond."""
    if scene.area is None or scene.area.bounds is None:
        return found
    if found.value.notation == "landmark":
        return found  # The programme itself listed it.
    if scene.area.surely_holds(found.value.lat, found.value.lon):
        return found
    away = kilometres_outside(found.value, scene.area.shape)
    if away * 1000 <= found.value.accuracy_m and away < scene.area.near_km:
        return found
    if away <= scene.area.near_km:
        return _noted(found, scene, away)
    offered = alternatives(found.value, found.heard, scene.area.shape, reread)
    language = scene.languages[0]
    choices = tuple(Choice(name_place(p, scene.landmarks, language), p) for p in offered)
    return Unclear("place", "outside_area", found.heard, choices, found.start, found.end)


def _noted(found: Found[Place], scene: Scene, away: float) -> Found[Place]:
    if scene.landmarks is None:
        return found
    km = f"{max(away, 0.1):.1f}" if away < 10 else f"{away:.0f}"
    note = scene.landmarks.words.assume(scene.languages[0], "near_area", km=km)
    assumed = (*found.value.assumed, note)
    return replace(found, value=replace(found.value, assumed=assumed))


def alternatives(
    place: Place, heard: str, shape: BaseGeometry, reread: Reread | None = None
) -> tuple[Place, ...]:
    """What the words might have meant instead, inside the area, the likeliest slip first."""
    kept: list[Place] = []
    west, south, east, north = shape.bounds
    for other in _candidates(place, heard, reread):
        near = south <= other.lat <= north and west <= other.lon <= east
        fits = near and intersects_xy(shape, other.lon, other.lat)
        if fits and not any(_same(other, k) for k in kept):
            kept.append(replace(other, landmark="", role=place.role))
        if len(kept) == MOST_CHOICES:
            break
    return tuple(kept)


def _same(one: Place, two: Place) -> bool:
    return abs(one.lat - two.lat) < _SAME_DEGREES and abs(one.lon - two.lon) < _SAME_DEGREES


def _candidates(place: Place, heard: str, reread: Reread | None) -> Iterator[Place]:
    yield from _turned(place, abs(place.lat), abs(place.lon))
    figures = _NUMBER.findall(heard[:_LONGEST_HEARD])
    lat = _figure(figures, place.lat)
    lon = _figure(figures, place.lon)
    if lat and lon:
        yield from _rewritten(place, lat, lon)
    elif reread is not None and len(heard) <= _SHORT:
        for changed in _changed_texts(heard):
            yield from reread(changed)


def _figure(figures: Iterable[str], value: float) -> str:
    """The written figure of a value, or ""."""
    return next((f for f in figures if math.isclose(_value(f), abs(value), abs_tol=1e-9)), "")


def _value(figure: str) -> float:
    return float(figure.replace(",", "."))


def _turned(place: Place, lat: float, lon: float) -> Iterator[Place]:
    """Both numbers under every sign, in the order as given and swapped."""
    for north, east in ((lat, lon), (lon, lat)):
        if north > 90:
            continue
        signs = ((1, 1), (-1, 1), (1, -1), (-1, -1))
        for up, right in sorted(signs, key=lambda s: _turns(place, s)):
            yield replace(place, lat=up * north, lon=right * east)


def _turns(place: Place, signs: tuple[int, int]) -> int:
    """How many signs are not as they were given."""
    return ((place.lat < 0) is (signs[0] > 0)) + ((place.lon < 0) is (signs[1] > 0))


def _rewritten(place: Place, lat: str, lon: str) -> Iterator[Place]:
    """Minutes written as decimals, in both numbers or one; then one slip of one digit."""
    for north in (*_as_minutes(lat), _value(lat)):
        for east in (*_as_minutes(lon), _value(lon)):
            yield from _turned(place, north, east)
    for change in (_exchanged, _one_less, _one_more):
        for changed in change(lat):
            yield from _turned(place, _value(changed), _value(lon))
        for changed in change(lon):
            yield from _turned(place, _value(lat), _value(changed))


def _as_minutes(figure: str) -> Iterator[float]:
    """ "36.52" meant as 36 degrees 52 minutes; "36.5212" also as 52 minutes 12 seconds."""
    whole, _, rest = figure.replace(",", ".").partition(".")
    if len(rest) < 2 or int(rest[:2]) >= 60:
        return
    minutes = int(rest[:2])
    if len(rest) == 4 and int(rest[2:]) < 60:
        yield int(whole) + minutes / 60 + int(rest[2:]) / 3600
    decimals = int(rest[2:]) / 10 ** len(rest[2:]) if rest[2:] else 0.0
    yield int(whole) + (minutes + decimals) / 60


def _exchanged(text: str) -> Iterator[str]:
    """Each two neighbouring digits in the other order."""
    for i in range(len(text) - 1):
        one, two = text[i], text[i + 1]
        if one != two and one.isdigit() and two.isdigit():
            yield text[:i] + two + one + text[i + 2 :]


def _one_less(text: str) -> Iterator[str]:
    """One digit struck twice: each doubled digit once."""
    for i in range(1, len(text)):
        if text[i] == text[i - 1] and text[i].isdigit():
            yield text[:i] + text[i + 1 :]


def _one_more(figure: str) -> Iterator[str]:
    """A digit lost from the whole degrees, put back in every place."""
    whole = len(figure.replace(",", ".").partition(".")[0])
    if whole < 3:
        for i in range(whole + 1):
            for digit in "0123456789":
                yield figure[:i] + digit + figure[i:]


def _changed_texts(heard: str) -> Iterator[str]:
    yield from _exchanged(heard)
    yield from _one_less(heard)
