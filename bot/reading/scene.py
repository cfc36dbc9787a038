"""What a reader may know besides the text: the clock, the area, the landmarks, the words.

Built once for a programme; `at` gives the scene of one text.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Literal

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
