"""New Zealand: sheet and figures of the 1:50,000 maps, new (Topo50) and old (NZMS 260), and
eastings and northings that say E and N.

Sheet edges and the table of sheets are Land Information New Zealand's own (argo-tasks,
mapsheet.ts, MIT; LINZ::Geodetic::NZMS260MapRef, 2006). Six figures fix 100 m in a sheet.
"""

from __future__ import annotations

import math
import re

from bot.reading.claims import Claim, found, one_of, unclear
from bot.reading.grids import GRIDS, PAIR, point, position, read_pair, square
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Place

SHEETS: dict[str, tuple[tuple[int, int], ...]] = {
    "AS": ((21, 22), (24, 24)), "AT": ((23, 26),), "AU": ((24, 29),), "AV": ((24, 30),),
    "AW": ((25, 32),), "AX": ((27, 33),), "AY": ((28, 35),), "AZ": ((28, 36),),
    "BA": ((29, 37),), "BB": ((30, 37),), "BC": ((30, 38), (40, 41)), "BD": ((31, 46),),
    "BE": ((31, 46),), "BF": ((30, 45),), "BG": ((29, 45),), "BH": ((28, 44),),
    "BJ": ((27, 43),), "BK": ((28, 40),), "BL": ((28, 40),), "BM": ((23, 25), (32, 39)),
    "BN": ((22, 29), (32, 38)), "BP": ((22, 37),), "BQ": ((21, 36),),
    "BR": ((19, 30), (32, 34)), "BS": ((19, 29),), "BT": ((18, 28),), "BU": ((16, 27),),
    "BV": ((15, 27),), "BW": ((14, 26),), "BX": ((12, 26),), "BY": ((10, 26),),
    "BZ": ((8, 23),), "CA": ((7, 22),), "CB": ((6, 20),), "CC": ((5, 20),), "CD": ((4, 19),),
    "CE": ((4, 18),), "CF": ((4, 17),), "CG": ((4, 16),), "CH": ((5, 14),), "CJ": ((7, 11),),
    "CK": ((7, 9),),
}  # fmt: skip
"""Row letters, north to south, and the sheet numbers that exist in each row. No BI, BO, CI."""

_ROWS = {letters: index for index, letters in enumerate(SHEETS)}

WIDTH, HEIGHT = 24_000, 36_000
"""A Topo50 sheet in metres of NZTM."""

CHATHAMS = {
    1: (3_458_000, 5_140_000), 2: (3_482_000, 5_140_000), 3: (3_506_000, 5_140_000),
    4: (3_482_000, 5_104_000), 5: (3_506_000, 5_104_000), 6: (3_506_000, 5_068_000),
}  # fmt: skip
"""South-west corners of sheets CI01 to CI06 in the Chathams' own grid, EPSG:3793."""

_BETWEEN = r"[ :,/-]{0,2}(?:(?:gr|grid|grid ref)[ :]{1,2})?"
_DIGITS = r"(?P<digits>\d{3,5}[ /,]{1,2}\d{3,5}|\d{6}|\d{8}|\d{10})(?![\w+]|[.,]\d)"
_TOPO50 = re.compile(
    rf"(?<![\w.])(?P<letters>[abc][a-z])(?P<gap> ?)(?P<number>\d\d)(?P<after>{_BETWEEN}){_DIGITS}"
)
_NZMS260 = re.compile(rf"(?<![\w.])(?P<letter>[a-z])(?P<number>\d\d)(?P<gap>{_BETWEEN}){_DIGITS}")
_PAIR = re.compile(rf"(?<![\w.]){PAIR}")


def find_topo50(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Sheet letters, number and figures: "BQ31 486 283", "BQ31 4860 2830"."""
    return [c for m in _TOPO50.finditer(low) if (c := _topo50(page, m)) is not None]


def _topo50(page: Page, match: re.Match[str]) -> Claim | None:
    letters, number, span = match["letters"].upper(), int(match["number"]), match.span()
    halves = _halves(match["digits"])
    loose = match["gap"] and not match["after"]  # "31V CG 88455 53097" is another grid's.
    if loose or (match["gap"] and not page.left[span[0] : span[0] + 2].isupper()):
        return None
    if halves is None:
        return unclear(page, *span, "odd_digits")
    if letters == "CI" and number in CHATHAMS:
        return _in_sheet(page, span, "EPSG:3793", CHATHAMS[number], (WIDTH, HEIGHT), halves)
    if not any(low <= number <= high for low, high in SHEETS.get(letters, ())):
        return unclear(page, *span, "no_such_sheet")
    return _in_sheet(
        page, span, "EPSG:2193", sheet_corner(letters, number), (WIDTH, HEIGHT), halves
    )


def sheet_corner(letters: str, number: int) -> tuple[int, int]:
    """The south-west corner of a Topo50 sheet, in metres of NZTM."""
    return 988_000 + WIDTH * number, 6_234_000 - HEIGHT * (_ROWS[letters] + 1)


def _halves(digits: str) -> tuple[str, str] | None:
    parts = re.split(r"[ /,]+", digits)
    if len(parts) == 2:
        return (parts[0], parts[1]) if len(parts[0]) == len(parts[1]) else None
    half = len(digits) // 2
    return digits[:half], digits[half:]


def _within(low: int, length: int, part: str) -> float | None:
    """The metres whose last 100 km are `part`, between low and low + length; or None."""
    metres = int(part) * 10.0 ** (5 - len(part))
    metres += math.ceil((low - metres) / 100_000) * 100_000
    return metres if metres < low + length else None


def _in_sheet(
    page: Page,
    span: tuple[int, int],
    epsg: str,
    corner: tuple[int, int],
    extent: tuple[int, int],
    halves: tuple[str, str],
) -> Claim:
    east = _within(corner[0], extent[0], halves[0])
    north = _within(corner[1], extent[1], halves[1])
    size = 10.0 ** (5 - len(halves[0]))
    place: Place | None = None
    if east is not None and north is not None:
        old = epsg == "EPSG:27200"
        place = (
            _old_square(east, north, size)
            if old
            else square(epsg, east, north, size, "topo50", 0.0)
        )
    if place is None:
        return unclear(page, *span, "outside_sheet")
    return found(page, *span, place)


def _old_square(east: float, north: float, size: float) -> Place | None:
    """A square of NZMS 260, whose figures some cut and others (LINZ's own) rounded: the
    place is the middle of both squares, and the radius holds both."""
    at = position("EPSG:27200", east + size / 4, north + size / 4)
    if at is None:
        return None
    return Place(at[0], at[1], 0.75 * size * math.sqrt(2) + 4.0, "nzms260")


def find_nzms260(page: Page, scene: Scene, low: str) -> list[Claim]:
    """The older sheets, a letter and two figures: "R27 589 902"."""
    return [c for m in _NZMS260.finditer(low) if (c := _nzms260(page, scene, m)) is not None]


def _nzms260(page: Page, scene: Scene, match: re.Match[str]) -> Claim | None:
    index, number = ord(match["letter"]) - ord("a"), int(match["number"])
    halves, span = _halves(match["digits"]), match.span()
    if halves is None or not 1 <= number <= 50 or scene.country not in ("", "NZ"):
        return None
    corner = (1_970_000 + 40_000 * index, 6_790_000 - 30_000 * number)
    if not match["gap"] and scene.country != "NZ":
        # "R27589902" is an Irish reference in the same shape, and more often outside the sheet.
        if _within(corner[0], 40_000, halves[0]) and _within(corner[1], 30_000, halves[1]):
            return unclear(page, *span, "two_readings")
        return None
    return _in_sheet(page, span, "EPSG:27200", corner, (40_000, 30_000), halves)


def find_lettered_pairs(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Seven figures each, with E and N: "1824628E 5654815N". No other grid here is so wide."""
    claims: list[Claim] = []
    grids = tuple(name for name in ("nztm", "nzmg") if name in scene.grids) or ("nztm", "nzmg")
    for match in _PAIR.finditer(low):
        pair = read_pair(match)
        if pair is None or not pair.lettered:
            continue
        places = tuple(
            place
            for name in grids
            if GRIDS[name].holds(pair.east, pair.north)
            and (place := point(GRIDS[name].epsg, pair, name, GRIDS[name].slack_m)) is not None
        )
        if places:
            claims.append(one_of(page, scene, *match.span(), places))
    return claims
