"""Open Location Codes: a full code is a place; a short one needs a place near it.

The decoding is the openlocationcode library's; here is where a code starts and ends in a text.
"""

from __future__ import annotations

import re

from openlocationcode import openlocationcode as olc

from bot.reading.claims import Claim, found, radius, unclear
from bot.reading.page import Page
from bot.reading.scan import lowered
from bot.reading.scene import Scene
from bot.reading.values import Place

_CODE = re.compile(
    r"(?<![\w+])(?P<code>[23456789cfghjmpqrvwx]{2,8}0{0,6}\+(?:[23456789cfghjmpqrvwx]{2,7})?)(?![\w+])"
)


def find_plus_codes(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Full codes: "4VCPPQGP+Q9"; a code of eight places that is not valid is asked about."""
    claims: list[Claim] = []
    for match in _CODE.finditer(low):
        code = match["code"].upper()
        if olc.isFull(code):
            claims.append(found(page, *match.span(), decode(code)))
        elif code.index("+") == 8:
            claims.append(unclear(page, *match.span(), "no_such_code"))
    return claims


def decode(code: str) -> Place:
    """The centre of a full code's cell, and half its diagonal."""
    area = olc.decode(code)
    lat, lon = area.latitudeCenter, area.longitudeCenter
    accuracy = radius(lat, area.latitudeHi - area.latitudeLo, area.longitudeHi - area.longitudeLo)
    return Place(lat, lon, accuracy, "plus code")


def short_codes(
    page: Page, scene: Scene, landmark: tuple[float, float] | None = None
) -> tuple[Claim, ...]:
    """Short codes ("CJ+2VX"), completed from a named landmark (lat, lon) or from scene.near.

    Call it after the landmarks are read; with neither, each code is asked about.
    """
    if "+" not in page.left:
        return ()
    claims: list[Claim] = []
    for match in _CODE.finditer(lowered(page.left)):
        code = match["code"].upper()
        # "85+" and "20+20" have the shape of a short code; a code without a letter is rare.
        if not olc.isShort(code) or code.endswith("+") or not any(c.isalpha() for c in code):
            continue
        near = landmark or scene.near
        if near is None:
            claims.append(unclear(page, *match.span(), "short_code"))
            continue
        place = decode(olc.recoverNearest(code, *near))
        said = "the named place" if landmark else "the programme's area"
        whole = Place(place.lat, place.lon, place.accuracy_m, "plus code", (f"near {said}",))
        claims.append(found(page, *match.span(), whole))
    return tuple(claims)
