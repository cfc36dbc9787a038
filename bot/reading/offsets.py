"""How far and which way from a landmark: plans read from the words around a name, and the
points they give.

Geodesics on WGS84 by pyproj's Geod. An accuracy is a sum of bounds: the chord over half the
sector that a compass word covers, the rounding of the distance, and the landmark's own reach.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from pyproj import Geod

GEOD = Geod(ellps="WGS84")

# A distance is good to half its last written figure, and people estimate no better than a tenth
# (common practice, no source).
_ESTIMATE = 0.1

# "North side of the hut" is no nearer to it than that (common practice, no source).
_SIDE_M = 400.0
LONG_M = 1500.0
"""The reach from which a landmark is a long thing."""

How = Literal[
    "at", "near", "open", "reach", "bearing", "part", "between", "toward", "end", "asked", "not"
]


class Spot(NamedTuple):
    """A landmark as a point with a reach."""

    lat: float
    lon: float
    radius_m: float


class Plan(NamedTuple):
    """What the words around a name say. `start` and `last` are tokens (last exclusive);
    `other` is the number of a second name that it takes in, `either` of one that it may be
    instead; -1 for none. A plan "asked" has a distance that cannot be placed, "not" denies."""

    how: How
    start: int
    last: int
    metres: float = 0.0
    rounding: float = 0.0
    azimuth: float = 0.0
    sector: float = 0.0
    other: int = -1
    either: int = -1


class Fix(NamedTuple):
    """Where a plan leads: degrees, metres, and the key of what was left open ("" nothing)."""

    lat: float
    lon: float
    accuracy_m: float
    left_open: str = ""


def sector_of(azimuth: float) -> float:
    """Half the sector of a compass word in degrees: 22.5 for eight-point words, else 11.25."""
    return 22.5 if azimuth % 45 == 0 else 11.25


def rounding_of(number: str, metres_per: float) -> float:
    """How far off a written number may be, in metres: half its last figure, at least a tenth.

    "3" km gives 500, "3.5" km 350, "500" m 50; a tens' nought counts ("10" km gives 1000).
    """
    digits = number.replace(",", ".")
    value = float(digits)
    if "." in digits:
        step = 10.0 ** -len(digits.split(".")[1])
    else:
        noughts = len(digits) - len(digits.rstrip("0")) if len(digits) > 2 else 0
        step = 10.0 ** min(noughts, 2)
    return max(step / 2, value * _ESTIMATE) * metres_per


def ahead(spot: Spot, azimuth: float, metres: float) -> tuple[float, float]:
    """(lat, lon) of the point so far away in that direction."""
    lon, lat, _ = GEOD.fwd(spot.lon, spot.lat, azimuth, metres)
    return float(lat), float(lon)


def span(one: Spot, two: Spot) -> tuple[float, float]:
    """(azimuth, metres) from one spot to another."""
    azimuth, _, metres = GEOD.inv(one.lon, one.lat, two.lon, two.lat)
    return float(azimuth), float(metres)


def sideways(metres: float, sector: float) -> float:
    """How far the edge of a sector lies from its middle: 3 km and 22.5 degrees give 1171 m."""
    return 2 * metres * math.sin(math.radians(sector) / 2)


def fix(plan: Plan, spot: Spot, other: Spot | None = None) -> Fix:
    """The point of a plan from its landmark, and from the second where it has one."""
    if other is not None:
        return _TWO[plan.how](plan, spot, other)
    reach = spot.radius_m
    if plan.how == "bearing":
        lat, lon = ahead(spot, plan.azimuth, plan.metres)
        return Fix(lat, lon, sideways(plan.metres, plan.sector) + plan.rounding + reach)
    if plan.how == "part":
        return Fix(spot.lat, spot.lon, max(reach * plan.metres, reach + _SIDE_M), "part")
    if plan.how == "reach":
        return Fix(spot.lat, spot.lon, plan.metres + plan.rounding + reach, "direction")
    if plan.how == "open":
        return Fix(spot.lat, spot.lon, plan.metres + reach, "distance")
    # A creek or a road runs on past its one listed point.
    left_open = "part" if plan.how == "at" and reach >= LONG_M else ""
    return Fix(spot.lat, spot.lon, plan.metres + reach, left_open)


def _between(plan: Plan, one: Spot, two: Spot) -> Fix:
    """The middle of the line. "Halfway" is good to a tenth of it, "between" to the half."""
    azimuth, metres = span(one, two)
    lat, lon = ahead(one, azimuth, metres / 2)
    slack = metres * (_ESTIMATE if plan.metres else 0.5)
    return Fix(lat, lon, slack + max(one.radius_m, two.radius_m), "straight")


def _toward(plan: Plan, one: Spot, two: Spot) -> Fix:
    """So far along the line to the second. The road bends, so as loose as a compass word."""
    azimuth, _ = span(one, two)
    lat, lon = ahead(one, azimuth, plan.metres)
    return Fix(lat, lon, sideways(plan.metres, 22.5) + plan.rounding + one.radius_m, "straight")


def _end(plan: Plan, one: Spot, two: Spot) -> Fix:
    """The end of the second that lies towards the first: between its near edge and the first,
    where that is close by, else its near edge."""
    azimuth, metres = span(two, one)
    edge = min(metres, two.radius_m)
    gap = min(metres - edge, two.radius_m)
    lat, lon = ahead(two, azimuth, edge + gap / 2)
    return Fix(lat, lon, two.radius_m + gap / 2 + plan.metres, "part")


_TWO = {"between": _between, "toward": _toward, "end": _end}
