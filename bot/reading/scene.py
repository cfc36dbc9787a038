"""What a reader may know besides the text: the clock, the area, the landmarks, the words.

Built once for a programme; `at` gives the scene of one text.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Literal

from shapely.geometry import box

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from bot.reading.landmarks import Landmarks
    from bot.reading.words import Words

Order = Literal["DMY", "MDY", "YMD"]


@dataclass(frozen=True, slots=True)
class Area:
    """The programme's area on WGS84 (x is longitude), and how far outside still counts as near."""

    shape: BaseGeometry
    near_km: float = 30.0
    core: tuple[float, float, float, float] = field(init=False, compare=False)
    """West, south, east and north of a box inside the shape: four comparisons tell of most
    places that they lie inside."""

    bounds: tuple[float, float, float, float] | None = field(init=False, compare=False)
    """West, south, east and north of the whole shape; None for an empty one."""

    def __post_init__(self) -> None:
        bounds = None if self.shape.is_empty else self.shape.bounds
        object.__setattr__(self, "bounds", bounds)
        object.__setattr__(self, "core", _box_inside(self.shape))

    def surely_holds(self, lat: float, lon: float) -> bool:
        """Whether a point lies in the core; the shape itself may hold it all the same."""
        west, south, east, north = self.core
        return south <= lat <= north and west <= lon <= east


def _box_inside(shape: BaseGeometry) -> tuple[float, float, float, float]:
    """The largest box of the shape's own proportions about a point inside it that the shape
    covers, to a hundredth; none (inside out) for an empty one."""
    if shape.is_empty:
        return 0.0, 0.0, -1.0, -1.0
    west, south, east, north = shape.bounds
    point = shape.representative_point()
    for hundredths in range(100, 0, -1):
        wide, high = (east - west) * hundredths / 200, (north - south) * hundredths / 200
        sides = point.x - wide, point.y - high, point.x + wide, point.y + high
        if shape.covers(box(*sides)):
            return sides
    return 0.0, 0.0, -1.0, -1.0


@dataclass(frozen=True, slots=True)
class Scene:
    """The frame for one reading. `area` None reads places anywhere; `oldest` None any age."""

    now: datetime
    zone: tzinfo
    words: Words
    order: Order = "DMY"
    area: Area | None = None
    oldest: timedelta | None = None
    languages: tuple[str, ...] = ("en",)
    landmarks: Landmarks | None = None
    grids: tuple[str, ...] = ()
    country: str = ""
    asked: str = ""
    near: tuple[float, float] | None = None
    """(lat, lon) where twilight is reckoned and half-given notations are completed."""
    extra: dict[str, str] = field(default_factory=dict)

    def at(self, now: datetime, asked: str = "") -> Scene:
        """The same frame for a text that was sent at `now`, with this question open."""
        return replace(self, now=now.astimezone(self.zone), asked=asked)
