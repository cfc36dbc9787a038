"""A position inside a pasted link, whoever's it is, and in geo: URIs (RFC 5870).

Only the link's own characters are read; no link is ever followed. A link without a position
is struck out, so that its figures are not read as anything else.
"""

from __future__ import annotations

import re
from urllib.parse import unquote_plus

from msgspec.structs import replace

from bot.reading.claims import Claim, choice, found, radius, unclear
from bot.reading.degrees import find_degrees
from bot.reading.page import Page
from bot.reading.scan import lowered
from bot.reading.scene import Scene
from bot.reading.values import Found, Place

_LINK = re.compile(r"(?:https?://|www\.)[^\s\x00<>]+|(?<![\w@.])[\w-]+(?:\.[\w-]+)+/[^\s\x00<>]+")
_GEO = re.compile(r"(?<!\w)geo:(?P<rest>[^\s\x00<>]+)")

_NUMBER = r"[-+]?\d{1,3}(?:\.\d{1,15})?"
_DECIMAL = r"[-+]?\d{1,3}\.\d{1,15}"
_IS = r'"?[=:]'

# The pin before the middle of the view: a link may hold both.
_SHAPES = tuple(
    re.compile(shape)
    for shape in (
        rf"!3d(?P<lat>{_DECIMAL})!4d(?P<lon>{_DECIMAL})",
        rf"!2d(?P<lon>{_DECIMAL})!3d(?P<lat>{_DECIMAL})",
        rf"[?&#;/{{,\"](?:m?lat|latitude|y){_IS}(?P<lat>{_NUMBER})[&,](?:[^\s]*?&)??\"?"
        rf"(?:m?lon|m?lng|long|longitude|x){_IS}(?P<lon>{_NUMBER})(?![\d.])",
        rf"[?&#;/{{,\"](?:m?lon|m?lng|long|longitude|x){_IS}(?P<lon>{_NUMBER})[&,]\"?"
        rf"(?:m?lat|latitude|y){_IS}(?P<lat>{_NUMBER})(?![\d.])",
        rf"[?&#;](?:q|query|markers?|pin|point|loc|location|place)=(?:[a-z]+[:.])?[ (]{{0,2}}"
        rf"(?P<lat>{_NUMBER})[ ,;_~]{{1,3}}(?P<lon>{_NUMBER})(?![\d.]|,-?\d+\.\d)",
        rf"[?&#;][a-z_]{{1,20}}=(?:[a-z]+[:.])?[ (]{{0,2}}"
        rf"(?P<lat>{_NUMBER})[ ,;_~]{{1,3}}(?P<lon>{_NUMBER})(?![\d.]|,-?\d+\.\d)",
        rf"#(?:map=|[a-z]+=)?(?:\d{{1,2}}(?:\.\d+)?)/(?P<lat>{_NUMBER})/(?P<lon>{_NUMBER})(?![\d.])",
        rf"@(?P<lat>{_DECIMAL}),(?P<lon>{_DECIMAL})",
        rf"[@/](?P<lat>{_NUMBER}),(?P<lon>{_NUMBER}),\d{{1,2}}(?:\.\d+)?z",
        rf"[/=#:](?:\d{{1,2}}(?:\.\d+)?/)?(?P<lat>{_DECIMAL})[ ,;/]{{1,2}}"
        rf"(?P<lon>{_DECIMAL})(?![\d.])",
    )
)

# RFC 5870, section 3.3: coordinates, then parameters, of which crs comes first and u second.
_GEO_PARTS = re.compile(
    rf"(?P<lat>{_NUMBER}),(?P<lon>{_NUMBER})(?:,[-+]?\d+(?:\.\d+)?)?(?P<rest>[;?].*)?$"
)
_CRS = re.compile(r";crs=([\w-]+)")
_UNCERTAINTY = re.compile(r";u=(\d+(?:\.\d+)?)")
_ASKED = re.compile(rf"[?&]q=(?P<lat>{_NUMBER})[ ,]{{1,2}}(?P<lon>{_NUMBER})")

_ABOUT_A_MAP = re.compile(r"map|geo|loc|place|/@|pin|coord")


def find_links(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Positions in links and geo: URIs; a map's link without one is asked about."""
    claims: list[Claim] = []
    for match in _GEO.finditer(low):
        claims.append(_geo(page, match))
    if "/" not in low and "www." not in low:
        return claims
    for match in _LINK.finditer(low if not claims else lowered(page.left)):
        claim = _link(page, scene, match)
        if claim is not None:
            claims.append(claim)
    return claims


def _decimals(number: str) -> float:
    """The unit of a number's last digit."""
    return 10.0 ** -min(len(number.partition(".")[2]), 9)


def _place(lat: str, lon: str, notation: str) -> Place | None:
    north, east = float(lat), float(lon)
    if abs(north) > 90 or abs(east) > 180:
        return None
    unit = max(_decimals(lat), _decimals(lon))
    return Place(north, east, radius(north, unit, unit), notation)


def _link(page: Page, scene: Scene, match: re.Match[str]) -> Claim | None:
    start = match.start()
    link = match[0].rstrip(".,;:!?)(]'\"")
    end = start + len(link)
    plain = unquote_plus(link).replace("\u2212", "-")
    for shape in _SHAPES:
        written = {(str(m["lat"]), str(m["lon"])): None for m in shape.finditer(plain)}
        if written:
            return _positions(page, start, end, tuple(written))
    if "://" not in link and not link.startswith("www."):
        return None
    if not _ABOUT_A_MAP.search(link):
        page.strike(start, end)
        return None
    whole = _WHOLE.search(plain)
    if whole is not None and "-" in whole[0]:
        return _positions(page, start, end, ((whole["lat"], whole["lon"]),))
    lettered = _lettered(plain, scene)
    if lettered is not None:
        return found(page, start, end, lettered)
    return unclear(page, start, end, "link_without_place")


_WHOLE = re.compile(r"[/=](?P<lat>-?\d{1,2}),(?P<lon>-?\d{1,3})$")
"""Whole degrees at a map's link's end, believed with a sign only: "/dir/here/34,-106"."""

_PUNCTUATION = re.compile(r"[/=?&@#:]+")


def _lettered(link: str, scene: Scene) -> Place | None:
    """The one position that a map's link holds in words: "q=N34.99393,W106.61568"."""
    text = _PUNCTUATION.sub(" ", link.partition("://")[2] or link)
    claims = find_degrees(Page(text), scene, text)
    only = claims[0] if len(claims) == 1 else None
    return replace(only.value, notation="link") if isinstance(only, Found) else None


def _positions(page: Page, start: int, end: int, written: tuple[tuple[str, str], ...]) -> Claim:
    """One position is the place; a route has two, and is asked about."""
    places = [p for lat, lon in written if (p := _place(lat, lon, "link")) is not None]
    if not places:
        return unclear(page, start, end, "lat_over_90")
    if len(places) > 1:
        return unclear(page, start, end, "two_readings", tuple(choice(p) for p in places))
    if places[0].lat == 0 and places[0].lon == 0:
        return unclear(page, start, end, "link_without_place")
    return found(page, start, end, places[0])


def _geo(page: Page, match: re.Match[str]) -> Claim:
    start = match.start()
    text = match[0].rstrip(".,;:!?'\"")
    if "(" not in text:
        text = text.rstrip(")].,;")
    end = start + len(text)
    parts = _GEO_PARTS.match(unquote_plus(text[4:]).rstrip())
    if parts is None:
        return unclear(page, start, end, "bad_geo")
    rest = parts["rest"] or ""
    crs, said = _CRS.search(rest), _UNCERTAINTY.search(rest)
    if crs is not None and crs[1] != "wgs84":
        return unclear(page, start, end, "unknown_crs")
    # A telephone's own extension: "geo:0,0?q=34.99,-106.61(Treasure)" means the q point.
    asked = _ASKED.search(rest)
    place = _place((asked or parts)["lat"], (asked or parts)["lon"], "geo")
    if place is None:
        return unclear(page, start, end, "lat_over_90")
    if place.lat == 0 and place.lon == 0:
        return unclear(page, start, end, "link_without_place")
    # At a pole every longitude is the same place (RFC 5870, section 3.4.2).
    lon = 0.0 if abs(place.lat) == 90 else place.lon
    accuracy = float(said[1]) if said else place.accuracy_m
    return found(page, start, end, Place(place.lat, lon, max(5.0, accuracy), "geo"))
