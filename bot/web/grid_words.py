"""A point in the programme's own grid, as its people write it: easting and northing in metres."""

from __future__ import annotations

from functools import lru_cache

from pyproj import Transformer

from bot.programme import Programme
from bot.reading.grids import GRIDS

MGA2020, GDA94 = 7800, 28300
"""EPSG 7846 to 7859 are MGA2020 zones 46 to 59, EPSG 28348 to 28358 are MGA94 zones 48 to 58."""
ZONED = {"mga": MGA2020, "mga2020": MGA2020, "mga94": GDA94}


def grid_reference(lat: float, lon: float, programme: Programme) -> str:
    """ "MGA zone 55, 513374 E 5919609 N"; UTM where the programme names no grid of its own."""
    name = next(iter(programme.head.grids), "")
    zone = int((lon + 180) // 6) + 1
    if name in ZONED:
        return _written(f"{name.upper()} zone {zone}", f"EPSG:{ZONED[name] + zone}", lat, lon)
    if name in GRIDS:
        return _written(name.upper(), GRIDS[name].epsg, lat, lon)
    if name in programme.head.custom_grids:
        return _written(name.upper(), programme.head.custom_grids[name], lat, lon)
    half, epsg = ("S", 32700 + zone) if lat < 0 else ("N", 32600 + zone)
    return _written(f"UTM zone {zone}{half}", f"EPSG:{epsg}", lat, lon)


def _written(name: str, epsg: str, lat: float, lon: float) -> str:
    east, north = _transformer(epsg).transform(lon, lat)
    return f"{name}, {east:.0f} E {north:.0f} N"


@lru_cache(maxsize=16)
def _transformer(epsg: str) -> Transformer:
    return Transformer.from_crs("EPSG:4326", epsg, always_xy=True)
