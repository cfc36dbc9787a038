"""A frame for the tests of coordinates, and short ways to ask what a text gives."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from functools import cache

from pyproj import Transformer
from shapely.geometry import box

from bot.reading.notations import find_notations
from bot.reading.page import Page
from bot.reading.scene import Area, Scene
from bot.reading.values import Found, Place, Unclear

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


def frame(
    area: tuple[float, float, float, float] | None = None,
    grids: tuple[str, ...] = (),
    country: str = "",
    languages: tuple[str, ...] = ("en", "es", "fr"),
    **extra: str,
) -> Scene:
    """A scene for places alone; `area` is west, south, east, north."""
    return Scene(
        now=NOW,
        zone=UTC,
        words=None,  # type: ignore[arg-type]
        area=Area(box(*area)) if area else None,
        grids=grids,
        country=country,
        languages=languages,
        extra=extra,
    )


ANYWHERE = frame()


def claims(text: str, scene: Scene = ANYWHERE) -> tuple[Found[Place] | Unclear, ...]:
    """Everything that the notations find in a text."""
    return find_notations(Page(text), scene)


def place(text: str, scene: Scene = ANYWHERE) -> Place:
    """The one place of a text; fails where there is none, or more, or a question."""
    got = claims(text, scene)
    assert len(got) == 1, (text, got)
    assert isinstance(got[0], Found), (text, got)
    return got[0].value


def why(text: str, scene: Scene = ANYWHERE) -> str:
    """The reason code of the one question that a text raises."""
    got = claims(text, scene)
    assert len(got) == 1, (text, got)
    assert isinstance(got[0], Unclear), (text, got)
    return got[0].why


def metres(lat: float, lon: float, other_lat: float, other_lon: float) -> float:
    """The distance on a sphere, good to half a per cent."""
    p, q = math.radians(lat), math.radians(other_lat)
    half = math.sin((q - p) / 2) ** 2
    half += math.cos(p) * math.cos(q) * math.sin(math.radians(other_lon - lon) / 2) ** 2
    return 2 * 6_371_008.8 * math.asin(min(1.0, math.sqrt(half)))


def off(found: Place, lat: float, lon: float) -> float:
    """How many metres a place lies from where it ought to."""
    return metres(found.lat, found.lon, lat, lon)


@cache
def transformer(of: int, to: int) -> Transformer:
    """PROJ's way from one EPSG system to another, longitude or easting first. Finding it takes
    PROJ a tenth of a second, so each is found once."""
    return Transformer.from_crs(f"EPSG:{of}", f"EPSG:{to}", always_xy=True)


def projected_to(epsg: int, lat: float, lon: float) -> tuple[float, float]:
    """Eastings and northings by PROJ."""
    east, north = transformer(4326, epsg).transform(lon, lat)
    return east, north


def projected(epsg: int, found: Place) -> tuple[float, float]:
    """A place as eastings and northings, by PROJ."""
    return projected_to(epsg, found.lat, found.lon)
