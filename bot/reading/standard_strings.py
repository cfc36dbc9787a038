"""Strings that standards fix: ISO 6709, and the points of WKT and GeoJSON.

ISO 6709 has signs on both, no separator, and the count of figures picks the unit:
"+40.6894-074.0447/", "+4012-07500/". WKT (ISO 19125) and GeoJSON (RFC 7946) write the
longitude first.
"""

from __future__ import annotations

import re

from bot.reading.claims import Claim, found, radius, unclear
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Place

_STRING = re.compile(
    r"(?<!\w)(?<!\d\.)(?P<lat>[+-](?:\d{6}|\d{4}|\d\d)(?:\.\d{1,12})?)"
    r"(?P<lon>[+-](?:\d{7}|\d{5}|\d{3}|\d\d(?=\.\d{3}))(?:\.\d{1,12})?)"
    r"(?:[+-]\d{1,5}(?:\.\d{1,4})?)?(?P<crs>crs\w{1,12})?(?P<end>/)?(?![\w]|[.,+-]\d)"
)

_POINT = re.compile(
    r"(?:(?<!\w)point ?z? ?\( ?|coordinates\"? ?: ?\[ ?)"
    r"(?P<lon>[+-]?\d{1,3}(?:\.\d{1,12})?) ?[ ,] ?(?P<lat>[+-]?\d{1,2}(?:\.\d{1,12})?)"
    r"(?:[ ,]{1,2}-?\d{1,5}(?:\.\d{1,4})?)? ?[\])]"
)


def find_iso6709(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Every ISO 6709 string in the text. Another CRS than WGS 84 is asked about."""
    claims: list[Claim] = []
    for match in _STRING.finditer(low):
        lat, lon = match["lat"], match["lon"]
        # A longitude without its leading zero is not the standard's, and seen all the same.
        widths = len(lat.partition(".")[0]) - 3, max(0, len(lon.partition(".")[0]) - 4)
        if widths[0] != widths[1]:
            continue
        if (match["crs"] or "crswgs_84") not in ("crswgs_84", "crswgs84"):
            claims.append(unclear(page, *match.span(), "unknown_crs"))
            continue
        claims.append(_claim(page, match, _angle(lat, 2), _angle(lon, 3)))
    return claims


def _angle(text: str, degrees: int) -> tuple[float, float, bool]:
    """Value in degrees, the unit of its last figure, and whether minutes and seconds fit."""
    sign, whole, decimals = text[0], text[1:].partition(".")[0], text.partition(".")[2]
    parts = [whole[:degrees], *re.findall("..", whole[degrees:])]
    numbers = [float(p) for p in parts]
    numbers[-1] = float(f"{parts[-1]}.{decimals or 0}")
    value = sum(n / 60**power for power, n in enumerate(numbers))
    unit = 10.0 ** -len(decimals) / 60.0 ** (len(parts) - 1)
    return (-value if sign == "-" else value), unit, all(n < 60 for n in numbers[1:])


def _claim(
    page: Page,
    match: re.Match[str],
    lat: tuple[float, float, bool],
    lon: tuple[float, float, bool],
) -> Claim:
    if not (lat[2] and lon[2]):
        return unclear(page, *match.span(), "minutes_over_59")
    if abs(lat[0]) > 90 or abs(lon[0]) > 180:
        return unclear(page, *match.span(), "lat_over_90")
    accuracy = radius(lat[0], lat[1], lon[1])
    return found(page, *match.span(), Place(lat[0], lon[0], accuracy, "iso6709"))


def find_points(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Points of WKT and GeoJSON: "POINT(147.15 -36.87)" is 36.87 south."""
    claims: list[Claim] = []
    for match in _POINT.finditer(low):
        lat, lon = float(match["lat"]), float(match["lon"])
        if abs(lat) > 90 or abs(lon) > 180:
            claims.append(unclear(page, *match.span(), "lat_over_90"))
            continue
        units = [10.0 ** -len(match[g].partition(".")[2]) for g in ("lat", "lon")]
        claims.append(found(page, *match.span(), Place(lat, lon, radius(lat, *units), "point")))
    return claims
