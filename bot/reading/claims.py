"""What a notation hands back: a stretch of the page claimed as a place, or as asked about.

Both strike the stretch, so that no later reader sees it. All positions are WGS84 degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Choice, Found, Place, Unclear

Claim = Found[Place] | Unclear

DEGREE_M = 111_320.0
"""Metres in one degree of latitude, near enough for a radius."""

FINEST_M = 5.0
"""No notation is believed to fix a place better than a hunter's receiver does."""


def found(page: Page, start: int, end: int, place: Place) -> Found[Place]:
    """Claim a stretch as a place."""
    heard = page.heard(start, end)
    page.strike(start, end)
    return Found(place, heard, start, end)


def unclear(
    page: Page, start: int, end: int, why: str, choices: tuple[Choice, ...] = ()
) -> Unclear:
    """Claim a stretch that was meant as a place and cannot be read one way only."""
    heard = page.heard(start, end)
    page.strike(start, end)
    return Unclear("place", why, heard, choices, start, end)


def choice(place: Place) -> Choice:
    """A place on offer, in the plainest words there are for it."""
    north, east = ("S" if place.lat < 0 else "N"), ("W" if place.lon < 0 else "E")
    return Choice(f"{abs(place.lat):.5f} {north} {abs(place.lon):.5f} {east}", place)


def radius(lat: float, lat_unit: float, lon_unit: float) -> float:
    """Half the diagonal of the cell that the last digits fix, in metres; units in degrees."""
    north = lat_unit * DEGREE_M / 2
    east = lon_unit * DEGREE_M * math.cos(math.radians(lat)) / 2
    return max(FINEST_M, math.hypot(north, east))


def hemispheres(scene: Scene) -> tuple[int, int]:
    """The signs of latitude and longitude in the programme's area: 1, -1, or 0 for unknown.

    0 without an area, and where the area lies on both sides of the line.
    """
    if scene.area is None or scene.area.bounds is None:
        return 0, 0
    west, south, east, north = scene.area.bounds
    return _side(south, north), _side(west, east)


def _side(low: float, high: float) -> int:
    if low >= 0:
        return 1
    return -1 if high <= 0 else 0


def inside(scene: Scene, places: Sequence[Place]) -> tuple[Place, ...]:
    """Those of the places in the box of the area; if none is, those near it; none without one."""
    if scene.area is None or scene.area.bounds is None:
        return ()
    west, south, east, north = scene.area.bounds
    for pad in (0.0, scene.area.near_km * 1_000 / DEGREE_M):
        fitting = tuple(
            p
            for p in places
            if south - pad <= p.lat <= north + pad and west - pad <= p.lon <= east + pad
        )
        if fitting:
            return fitting
    return ()


def one_of(page: Page, scene: Scene, start: int, end: int, places: tuple[Place, ...]) -> Claim:
    """Claim a stretch that has several readings: the one in the area, or all on offer."""
    if len(places) == 1:
        return found(page, start, end, places[0])
    fitting = inside(scene, places)
    if len(fitting) == 1:
        return found(page, start, end, fitting[0])
    return unclear(page, start, end, "two_readings", tuple(choice(p) for p in places))
