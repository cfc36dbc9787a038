"""UTM pairs with zone and letter or hemisphere, and the lettered squares (MGRS, USNG).

A letter after a zone may be a latitude band or a hemisphere: S is both, and so asked about
where both fit. A decoded position that lies outside the band it names is asked about too.
"""

from __future__ import annotations

import re

from bot.reading.claims import Claim, choice, found, hemispheres, one_of, unclear
from bot.reading.grids import NAMED_PAIR, ZONED_PAIR, Pair, point, read_pair, square
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Place

BANDS = "CDEFGHJKLMNPQRSTUVWX"
"""Bands of 8 degrees from 80 S, the last of 12 (DMA TM 8358.1)."""

_HALVES = {"north": "N", "south": "S", "northern": "N", "southern": "S", "nth": "N", "sth": "S",
           "norte": "N", "nord": "N", "sur": "S", "sud": "S"}  # fmt: skip
# E is the letter of an easting before it is a band: that band is Antarctica.
_HALF = r"(?P<half>[a-df-z]|north(?:ern)?|south(?:ern)?|nth|sth|norte|nord|sur|sud)"

_ZONE_FIRST = re.compile(
    rf"(?<!\w)(?<!\d\.)(?P<utm>(?:utm|wgs ?84)[ :,]{{0,2}})?(?P<zone_word>zone? ?|zona ?|z)?"
    rf"(?P<lead>[ns])?(?P<zone>\d{{1,2}}) ?(?:\(?{_HALF}\)?(?![a-z])(?: hem\w{{0,8}})?)?"
    rf"(?(half)[ ,;:/]{{0,3}}|[ ,;:/]{{1,3}}){NAMED_PAIR}(?P<utm_last>[ ,(]{{1,2}}utm(?!\w))?"
)
_ZONE_LAST = re.compile(
    rf"(?<![\w.]){ZONED_PAIR}[ ,;(]{{1,3}}(?P<utm>utm[ :,]{{0,2}})?"
    rf"(?P<zone_word>zone? ?|zona ?|z)?(?P<zone>\d{{1,2}}),? ?{_HALF}(?!\w)"
)
_GLUED = re.compile(
    r"(?<!\w)(?<!\d\.)(?P<zone>\d{1,2})(?P<half>[c-df-hj-np-x])(?P<a>\d{6})(?P<b>\d{7})(?!\w|[.,]\d)"
    r"(?P<utm>)(?P<zone_word>)(?P<before_a>)(?P<after_a>)(?P<before_b>)(?P<after_b>)"
)
"""Zone, letter, six figures and seven in one piece: nothing else is so long. The empty groups
make it read like the others."""
_SQUARE = re.compile(
    r"(?<!\w)(?<!\d\.)(?P<zone>\d{1,2})(?P<gap> ?)(?P<band>[c-hj-np-x])(?P<gap2>[ /-]?)"
    r"(?P<column>[a-hj-np-z])(?P<row>[a-hj-np-v])(?P<gap3>[ /-]?)"
    r"(?P<digits>\d{5}\.\d{1,4}[ ,/-]{1,2}\d{5}\.\d{1,4}|\d{1,12}(?:(?: |, ?|/|-)\d{1,6})?)"
    r"(?!\w|\.\d)"
)
_PARTS = re.compile(r"[ ,/-]+")
_COUNTED = re.compile(r" ?[^\W\d_]{2}")


def band_range(letter: str) -> tuple[float, float]:
    """The latitudes of a band."""
    south = -80 + 8 * BANDS.index(letter)
    return south, 84 if letter == "X" else south + 8


def _epsg(zone: int, south: bool) -> str:
    return f"EPSG:{32700 + zone if south else 32600 + zone}"


def find_utm(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Zone with eastings and northings, the zone before or after them."""
    claims: list[Claim] = []
    for pattern in (_ZONE_FIRST, _GLUED, _ZONE_LAST):
        for match in pattern.finditer(low):
            claim = _utm(page, scene, match)
            if claim is not None:
                claims.append(claim)
        if claims:
            break
    return claims


def _utm(page: Page, scene: Scene, match: re.Match[str]) -> Claim | None:
    pair, zone = read_pair(match), int(match["zone"])
    named = match["utm"] or match["zone_word"] or match.groupdict().get("utm_last")
    letters = match["half"] or match.groupdict().get("lead") or ""
    said = letters or named
    if pair is None or not said or not 100_000 <= pair.east < 900_000:
        return None
    if not 1 <= zone <= 60 or pair.north > 10_000_000:
        return unclear(page, *match.span(), "no_such_zone")
    half = _HALVES.get(letters, letters.upper())
    if half and half not in BANDS:
        # "55 E 273741": a letter that is no band belongs to the easting, or to nothing.
        half = ""
    if not half:
        return _without_half(page, scene, match, zone, pair)
    # A letter before the zone, or a word, is a hemisphere and no band.
    places = tuple(_readings(zone, half, letters != match["half"] or len(letters) > 1, pair))
    if not places:
        return unclear(page, *match.span(), "band_mismatch")
    return one_of(page, scene, *match.span(), places)


def _readings(zone: int, half: str, word: bool, pair: Pair) -> list[Place]:
    """What zone and letter may mean: the letter as a band, and S or N as a hemisphere."""
    places: list[Place] = []
    as_band = None if word else _in_band(zone, half, pair)
    if as_band is not None:
        places.append(as_band)
    if half == "S" or (half == "N" and as_band is None):
        hemisphere = point(_epsg(zone, half == "S"), pair, "utm", 0.0)
        if hemisphere is not None and abs(hemisphere.lat) <= 84.5:
            places.append(hemisphere)
    return places


def _in_band(zone: int, band: str, pair: Pair) -> Place | None:
    south, north = band_range(band)
    place = point(_epsg(zone, band < "N"), pair, "utm", 0.0)
    if place is None or not south - 0.5 <= place.lat <= north + 0.5:
        return None
    return place


def _without_half(page: Page, scene: Scene, match: re.Match[str], zone: int, pair: Pair) -> Claim:
    """A zone without a letter: the area's hemisphere, or both on offer."""
    side = hemispheres(scene)[0]
    if side:
        word = "south" if side < 0 else "north"
        assumed = (f"{word}, from the programme's area",)
        place = point(_epsg(zone, side < 0), pair, "utm", 0.0, assumed=assumed)
        if place is not None:
            return found(page, *match.span(), place)
    both = (point(_epsg(zone, south), pair, "utm", 0.0) for south in (False, True))
    offers = tuple(choice(p) for p in both if p is not None)
    return unclear(page, *match.span(), "no_hemisphere", offers)


def find_squares(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Zone, band, two letters and an even count of figures: a square by its corner."""
    return [claim for match in _SQUARE.finditer(low) if (claim := _square(page, match)) is not None]


_DATE = re.compile(r"\d{1,2} (?:jan|feb|mar|jun|jul|sep|dec|ene|fev) (?:\d\d$|(?:19|20)\d\d(?!\d))")
"""A day, a month and a year, which in capitals have the shape of a square: "25 SEP 2003"."""


def _square(page: Page, match: re.Match[str]) -> Claim | None:
    start, end = match.span()
    if _DATE.match(match[0]) and int(match["zone"]) <= 31:
        return None
    if match["band"] + match["column"] + match["row"] == "wgs":
        return None  # "1 WGS84 55S ..." names a datum.
    halves = _PARTS.split(match["digits"])
    if _counts(match, halves):
        end = match.start("digits") + len(halves[0])
        halves.pop()
    # Parts of a metre are cut: no notation here is believed as far.
    halves = [half.partition(".")[0] for half in halves]
    digits = "".join(halves)
    # "3 ewe 45" has this shape too: loose letters are believed with enough figures only.
    tight = not match["gap"] and not match["gap2"]
    strong = page.left[match.start("band") : match.end("row")].isupper() or tight
    if not strong and len(digits) < 6:
        return None
    if (
        len(digits) % 2
        or len(digits) > 10
        or (len(halves) == 2 and len(halves[0]) != len(halves[1]))
    ):
        return unclear(page, start, end, "odd_digits") if strong and len(digits) > 3 else None
    place, why = decode_square(
        int(match["zone"]), match["band"].upper(), (match["column"] + match["row"]).upper(), digits
    )
    if place is not None:
        return found(page, start, end, place)
    return unclear(page, start, end, why) if len(digits) >= (4 if strong else 6) else None


def _counts(match: re.Match[str], halves: list[str]) -> bool:
    """Whether the second figures count something: "18SUJ23480647 2 pigs"."""
    if len(halves) < 2 or len(halves[0]) == len(halves[1]):
        return False
    if not match["gap3"]:
        return True
    short = len(halves[1]) < 3 <= len(halves[0])
    return short and _COUNTED.match(match.string, match.end()) is not None


def decode_square(zone: int, band: str, letters: str, digits: str) -> tuple[Place | None, str]:
    """One lettered square -> its place, or None and the reason code.

    Columns run A-H, J-R, S-Z in turn with the zone, rows A-V from the equator (F in even
    zones), every 2,000 km again (DMA TM 8358.1); the band says which time round.
    """
    if not 1 <= zone <= 60 or (band == "X" and zone in (32, 34, 36)):
        return None, "no_such_zone"
    column = ("ABCDEFGH", "JKLMNPQR", "STUVWXYZ")[(zone - 1) % 3].find(letters[0])
    if column < 0:
        return None, "no_such_square"
    row = ("ABCDEFGHJKLMNPQRSTUV".index(letters[1]) - (5 if zone % 2 == 0 else 0)) % 20
    half = len(digits) // 2
    size = 10.0 ** (5 - half)
    east = (column + 1) * 100_000 + int(digits[:half]) * size
    north = row * 100_000 + int(digits[half:]) * size
    south_edge, north_edge = band_range(band)
    for turn in range(5):
        place = square(_epsg(zone, band < "N"), east, north + turn * 2_000_000, size, "mgrs", 0.0)
        # The centre of a coarse square may lie over the edge of the band by part of a square.
        if place and south_edge - 0.95 <= place.lat <= north_edge + 0.95:
            return place, ""
    return None, "band_mismatch"
