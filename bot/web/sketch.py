"""A sketch of where a find is, as numbers for a small drawing: no tiles, no other host.

The ground is flattened about the middle of what is drawn, which over some tens of kilometres is
off by less than the width of a line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bot.programme import Programme
from bot.reading.values import Place

WIDTH, HEIGHT, MARGIN = 320, 220, 34
KM_A_DEGREE = 111.2
"""A degree of latitude (and of longitude at the equator): 40,030 km / 360."""
LEAST_KM = 1.5
MOST_LANDMARKS = 4
LANDMARKS_IN_VIEW = 2
BARS_KM = (0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)


@dataclass(frozen=True, slots=True)
class Spot:
    """A thing on the ground. `sort` is kill, head, landmark or base; `radius_km` its accuracy."""

    sort: str
    name: str
    lat: float
    lon: float
    radius_km: float = 0.0


@dataclass(frozen=True, slots=True)
class Dot:
    """A spot in the drawing, with where its name stands."""

    sort: str
    name: str
    x: float
    y: float
    radius: float
    tx: float
    ty: float
    anchor: str


@dataclass(frozen=True, slots=True)
class Sketch:
    """The drawing: dots, a scale bar in drawing units, and all of it in words."""

    dots: tuple[Dot, ...]
    bar: float
    bar_words: str
    words: str
    frame: Frame


@dataclass(frozen=True, slots=True)
class Frame:
    """From degrees to the drawing: the middle, and drawing units a kilometre."""

    lat: float
    lon: float
    scale: float

    def xy(self, lat: float, lon: float) -> tuple[float, float]:
        """Where a point stands in the drawing."""
        east = (lon - self.lon) * KM_A_DEGREE * math.cos(math.radians(self.lat))
        north = (lat - self.lat) * KM_A_DEGREE
        return WIDTH / 2 + east * self.scale, HEIGHT / 2 - north * self.scale


def sketch_of(
    places: Sequence[tuple[str, str, Place]], programme: Programme, *, bases: bool = True
) -> Sketch | None:
    """The drawing of some places (sort, name, place) among landmarks and the staff's bases, or
    without these; None of none. The dots of the places come first, in their order."""
    spots = [Spot(s, n, p.lat, p.lon, p.accuracy_m / 1000) for s, n, p in places]
    if not spots:
        return None
    middle = spots[0]
    near = sorted(
        (Spot("landmark", mark.name, mark.lat, mark.lon) for mark in programme.landmarks),
        key=lambda spot: _km(middle, spot),
    )
    frame = _frame([*spots, *near[:LANDMARKS_IN_VIEW]])
    staff = [m for m in programme.roster if bases and m.role == "field"]
    homes = [Spot("base", m.name, m.lat, m.lon) for m in staff]
    drawn = [spot for spot in [*near[:MOST_LANDMARKS], *homes] if _in_view(frame, spot)]
    bar_km = max((km for km in BARS_KM if km * frame.scale <= WIDTH / 4), default=BARS_KM[0])
    return Sketch(
        dots=tuple(_dots(frame, [*spots, *drawn])),
        bar=round(bar_km * frame.scale, 1),
        bar_words=f"{bar_km:g} km" if bar_km >= 1 else f"{bar_km * 1000:.0f} m",
        words="Sketch: " + ", ".join(spot.name for spot in [*spots, *drawn]),
        frame=frame,
    )


def _km(one: Spot, other: Spot) -> float:
    east = (other.lon - one.lon) * math.cos(math.radians(one.lat))
    return math.hypot(east, other.lat - one.lat) * KM_A_DEGREE


def _frame(spots: Sequence[Spot]) -> Frame:
    """The frame that holds every spot and its circle, and no less than LEAST_KM."""
    shrink = max(math.cos(math.radians(spots[0].lat)), 0.05)
    lats = [s.lat + sign * s.radius_km / KM_A_DEGREE for s in spots for sign in (-1, 1)]
    lons = [s.lon + sign * s.radius_km / KM_A_DEGREE / shrink for s in spots for sign in (-1, 1)]
    high = max((max(lats) - min(lats)) * KM_A_DEGREE, LEAST_KM)
    wide = max((max(lons) - min(lons)) * KM_A_DEGREE * shrink, LEAST_KM)
    scale = min((WIDTH - 2 * MARGIN) / wide, (HEIGHT - 2 * MARGIN) / high)
    return Frame((max(lats) + min(lats)) / 2, (max(lons) + min(lons)) / 2, scale)


def _in_view(frame: Frame, spot: Spot) -> bool:
    x, y = frame.xy(spot.lat, spot.lon)
    return 8 < x < WIDTH - 8 and 8 < y < HEIGHT - 24


def _dots(frame: Frame, spots: Iterable[Spot]) -> Iterable[Dot]:
    """Each spot with its name beside it, on the side with room; names that would lie on one
    another go below."""
    taken: list[tuple[float, float]] = []
    for spot in spots:
        x, y = frame.xy(spot.lat, spot.lon)
        right = x < WIDTH * 0.6
        radius = spot.radius_km * frame.scale
        # Beside a small circle, and over the line of a large one.
        aside = radius + 4 if 5 < radius < 30 else 9
        tx, ty = x + (aside if right else -aside), y + 3.5
        while any(abs(ty - other_y) < 11 and abs(tx - other_x) < 90 for other_x, other_y in taken):
            ty += 11
        taken.append((tx, ty))
        yield Dot(
            spot.sort,
            spot.name,
            round(x, 1),
            round(y, 1),
            round(radius, 1) if radius > 4 else 0,
            round(tx, 1),
            round(ty, 1),
            "start" if right else "end",
        )
