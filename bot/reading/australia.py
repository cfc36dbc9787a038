"""Australia's map grid, MGA2020 and MGA94: transverse Mercator zones 46 to 59, always south.

A zone that is not said is the one in which the pair falls into the programme's area; without
an area it is asked about. MGA2020 and MGA94 differ by 1.8 m, which the radius holds.
"""

from __future__ import annotations

import re

from bot.reading.claims import Claim, choice, found, inside, one_of, unclear
from bot.reading.grids import NAMED_PAIR, PAIR, Pair, point, read_pair
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Place

MAINLAND = range(49, 57)
"""The zones of the mainland and Tasmania, tried when none is said."""

_SLACK_M = 1.8
"""MGA94 read on WGS84 (GDA2020 Technical Manual: about 1.8 m to the north-east)."""

_NAMED = re.compile(
    r"(?<!\w)(?P<name>mga ?(?:2020|20|94)?|gda ?(?:2020|94)(?:[ /,]{1,3}mga ?(?:2020|94)?)?)"
    rf"(?:[ ,/]{{0,2}}\(?(?:zone? ?|z ?)?(?P<zone>\d\d)(?!\d) ?(?P<band>[c-m](?![a-z])|south)?\)?)?"
    rf"[ ,:;/]{{1,3}}{NAMED_PAIR}"
)
_NAMED_LAST = re.compile(
    rf"(?<![\w.]){PAIR}[ ,;(]{{1,3}}(?P<name>mga ?(?:2020|20|94)?)"
    r"(?:[ ,/]{0,2}(?:zone? ?|z ?)?(?P<zone>\d\d)(?!\d) ?(?P<band>[c-m])?)?(?!\w)"
)
_BARE = re.compile(rf"(?<![\w.+$£€:/-]){PAIR}")


def _mga(name: str, zone: int, pair: Pair, assumed: tuple[str, ...] = ()) -> Place | None:
    old = "94" in name and 48 <= zone <= 58
    epsg = f"EPSG:{(28300 if old else 7800) + zone}"
    return point(epsg, pair, "mga94" if old else "mga2020", _SLACK_M, assumed)


def find_mga(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Pairs with the grid's name: "MGA94 zone 55 273741 5796489", "MGA55 E273741 N5796489"."""
    claims: list[Claim] = []
    for pattern in (_NAMED, _NAMED_LAST):
        for match in pattern.finditer(low):
            pair = read_pair(match)
            if pair is not None and _shaped(pair):
                claims.append(_claim(page, scene, match, pair))
        if claims:
            break
    return claims


def _shaped(pair: Pair) -> bool:
    return 100_000 <= pair.east < 900_000 and 1_000_000 <= pair.north < 10_000_000


def _claim(page: Page, scene: Scene, match: re.Match[str], pair: Pair) -> Claim:
    if match["zone"] is None:
        return _zone_from_area(page, scene, match, pair, match["name"])
    zone = int(match["zone"])
    place = _mga(match["name"], zone, pair) if 46 <= zone <= 59 else None
    if place is None:
        return unclear(page, *match.span(), "no_such_zone")
    return found(page, *match.span(), place)


def find_bare_mga(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Pairs without a word, where the programme switches the grid on."""
    name = next((g for g in scene.grids if g.startswith("mga")), "")
    if not name:
        return []
    claims: list[Claim] = []
    for match in _BARE.finditer(low):
        pair = read_pair(match)
        if pair is not None and _shaped(pair):
            claims.append(_zone_from_area(page, scene, match, pair, name))
    return claims


def _zone_from_area(page: Page, scene: Scene, match: re.Match[str], pair: Pair, name: str) -> Claim:
    """The zone in which the pair falls into the area; else the zones are asked about."""
    tried = []
    for zone in MAINLAND:
        place = _mga(name, zone, pair, (f"zone {zone}, from the programme's area",))
        if place is not None:
            tried.append(place)
    fitting = inside(scene, tried)
    if fitting:
        return one_of(page, scene, *match.span(), fitting)
    near = tuple(choice(p) for p in tried if _beside(scene, p))
    return unclear(page, *match.span(), "no_zone", near)


def _beside(scene: Scene, place: Place) -> bool:
    """Whether a place is within a zone's width of the area, so that it may be offered."""
    if scene.area is None:
        return False
    west, _, east, _ = scene.area.shape.bounds
    return bool(west - 6 <= place.lon <= east + 6)
