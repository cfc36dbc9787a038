"""PURE. Where a find is, as far as those may know who may not know it exactly: the centre of a
grid square. Squares are fixed to the ground, so that many looks at one find tell no more."""

from __future__ import annotations

import math

KM_A_DEGREE = 111.2
"""A degree of latitude (and of longitude at the equator): 40,030 km / 360."""
SQUARE_KM = 10.0


def square_centre(lat: float, lon: float, side_km: float = SQUARE_KM) -> tuple[float, float]:
    """The centre (lat, lon) of the square that holds a point, sides `side_km` long.

    Rows follow parallels; each row's squares are as many degrees wide as its middle asks for.
    """
    step = side_km / KM_A_DEGREE
    middle = (math.floor(lat / step) + 0.5) * step
    width = step / max(math.cos(math.radians(middle)), 0.01)
    return round(middle, 5), round((math.floor(lon / width) + 0.5) * width, 5)


def square_reach_m(side_km: float = SQUARE_KM) -> float:
    """How far the point may lie from the centre: half a diagonal, in metres."""
    return side_km * 1000 / math.sqrt(2)
