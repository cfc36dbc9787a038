"""Grids of eastings and northings: the one table, and the pair of numbers written in them.

A pair with a grid's name before it is read anywhere; a bare pair only in the grids that the
programme switches on, by a name of GRIDS or by its own line of settings (name = "EPSG:nnnn").
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError

from bot.reading.claims import FINEST_M, Claim, choice, found, one_of, unclear
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Place


@dataclass(frozen=True, slots=True)
class Grid:
    """One grid: its EPSG code, the eastings and northings it runs over, and in metres how
    well it is brought to WGS84 without grid files (PROJ's own statement)."""

    epsg: str
    east: tuple[float, float]
    north: tuple[float, float]
    slack_m: float = 1.0

    def holds(self, east: float, north: float) -> bool:
        """Whether a pair lies in the grid at all."""
        return self.east[0] <= east <= self.east[1] and self.north[0] <= north <= self.north[1]


GRIDS: dict[str, Grid] = {
    "osgb": Grid("EPSG:27700", (0, 700_000), (0, 1_300_000), 5.0),
    "irish": Grid("EPSG:29903", (0, 400_000), (0, 500_000), 2.0),
    "itm": Grid("EPSG:2157", (400_000, 800_000), (500_000, 1_000_000)),
    "nztm": Grid("EPSG:2193", (1_000_000, 2_100_000), (4_700_000, 6_250_000)),
    "nzmg": Grid("EPSG:27200", (1_970_000, 3_010_000), (5_290_000, 6_790_000), 4.0),
}
"""Metric grids that stand alone. Zoned ones (UTM, MGA) are in utm.py and australia.py."""

NAMES = {
    "osgb": "osgb", "osgb36": "osgb", "bng": "osgb", "british grid": "osgb",
    "itm": "itm", "irish grid": "irish", "ig": "irish", "tm75": "irish",
    "nztm": "nztm", "nztm2000": "nztm", "nztm 2000": "nztm", "nzmg": "nzmg",
}  # fmt: skip
"""What people write before a pair, and the grid they mean by it."""

# One easting and one northing, each with or without its letter before or after it.
_LETTER = r"e|n|east(?:ing)?|north(?:ing)?|x|y"
_PLAIN = r"\d{4,8}(?:\.\d{1,15})?"
_GROUPED = rf"(?:{_PLAIN}|\d{{1,3}}(?:[ ,']\d{{3}}){{1,2}}(?!\d))"
_END = r"(?!\w|[.,]\d)"


def pair_of(number: str, between: str, end: str = _END) -> str:
    """The expression of an easting and a northing, of numbers written like this."""
    return (
        rf"(?:(?P<before_a>{_LETTER})[ :=]{{0,2}})?(?P<a>{number})"
        rf"(?(before_a)m?|(?: ?(?P<after_a>m? ?[en]|m))?)(?!\w){between}"
        rf"(?:(?P<before_b>{_LETTER})[ :=]{{0,2}})?(?<!\d)(?P<b>{number})"
        rf"(?(before_b)m?|(?: ?(?P<after_b>m? ?[en]|m))?){end}"
    )


PAIR = pair_of(_PLAIN, r"[ ,;/]{0,3}")
NAMED_PAIR = pair_of(_GROUPED, r"[ ,;/]{0,3}(?:utm[ :]{1,2})?")
"""Where a zone or the grid's name says what is meant, the thousands may be parted, and a
receiver's "UTM" may stand between the two lines of its screen."""

ZONED_PAIR = pair_of(_GROUPED, r"[ ,;/]{0,3}", r"(?!\w|\.\d|,\d(?!\d?,? ?[a-z]))")
"""Before a zone: what follows a comma is not a decimal there ("273741,5796489,55S")."""

_BARE = re.compile(rf"(?<![\w.+$£€:/-]){PAIR}")
_NAMED = re.compile(
    rf"(?<!\w)(?P<name>{'|'.join(sorted(NAMES, key=len, reverse=True))})[ :=,(]{{1,3}}{NAMED_PAIR}"
)


@dataclass(frozen=True, slots=True)
class Pair:
    """An easting and a northing as written: metres, the unit of the last digit, and whether
    letters said which is which."""

    east: float
    north: float
    unit: float
    lettered: bool
    wide: bool
    """At least six figures in the easting: not the shape of half a telephone number."""
    full: bool = True
    """At least five figures in both, and no padding: not degrees and minutes in one run."""

    def swapped(self) -> Pair:
        """The same two numbers the other way round."""
        return replace(self, east=self.north, north=self.east)


def read_pair(match: re.Match[str]) -> Pair | None:
    """The pair that PAIR matched, or None where its letters contradict each other."""
    first = _axis(match["before_a"], match["after_a"])
    second = _axis(match["before_b"], match["after_b"])
    if is_square(match):
        return None
    if "?" in (first, second) or (first and first == second):
        return None
    a, b = (re.sub("[ ,']", "", match[group]) for group in ("a", "b"))
    if (
        not first
        and second == "e"
        and match["after_b"]
        and match[0].endswith(f" {match['after_b']}")
    ):
        second = ""  # "255663 715558 e of the hut"
    if first == "n" or second == "e":
        a, b = b, a
    decimals = min(len(a.partition(".")[2]), len(b.partition(".")[2]))
    figures = [len(part.partition(".")[0]) for part in (a, b)]
    return Pair(
        float(a),
        float(b),
        10.0**-decimals,
        lettered=bool(first or second),
        wide=figures[0] >= 6,
        full=min(figures) >= 5 and not (a[0] == "0" and figures[0] == 7),
    )


def is_square(match: re.Match[str]) -> bool:
    """ "N 44360 08490": one letter before as many figures twice, five at most, is a square of
    Ireland with what lies in it; a northing says its easting too, and is longer."""
    letters = [match[g] for g in ("before_a", "after_a", "before_b", "after_b") if match[g]]
    a, b = match["a"], match["b"]
    alone = match["before_a"] is not None and len(letters) == 1 and len(letters[0]) == 1
    return alone and len(a) == len(b) <= 5 and a.isdigit() and b.isdigit()


def _axis(before: str | None, after: str | None) -> str:
    """ "e", "n", "" for unsaid, "?" for both at once."""
    lead = {"x": "e", "y": "n"}.get(before or "", (before or "")[:1])
    tail = (after or "").strip("m ")
    return "?" if lead and tail and lead != tail else lead or tail


@lru_cache(maxsize=256)
def _transformer(epsg: str) -> Transformer:
    return Transformer.from_crs(epsg, "EPSG:4326", always_xy=True)


def position(epsg: str, east: float, north: float) -> tuple[float, float] | None:
    """WGS84 (lat, lon) of a pair of metres, or None where the grid has no such point."""
    lon, lat = _transformer(epsg).transform(east, north)
    # PROJ answers (inf, inf) out of range, without an exception.
    return (lat, lon) if math.isfinite(lat) and math.isfinite(lon) else None


def square(
    epsg: str, east: float, north: float, size: float, notation: str, slack_m: float = 1.0
) -> Place | None:
    """The place of a square of `size` metres, by its south-west corner: centre, half diagonal."""
    at = position(epsg, east + size / 2, north + size / 2)
    if at is None:
        return None
    accuracy = max(FINEST_M, size / math.sqrt(2) + slack_m)
    return Place(at[0], at[1], accuracy, notation)


def point(
    epsg: str, pair: Pair, notation: str, slack_m: float = 1.0, assumed: tuple[str, ...] = ()
) -> Place | None:
    """The place of full eastings and northings: the point itself, to its last digit."""
    at = position(epsg, pair.east, pair.north)
    if at is None:
        return None
    accuracy = max(FINEST_M, pair.unit / math.sqrt(2) + slack_m)
    return Place(at[0], at[1], accuracy, notation, assumed)


@lru_cache(maxsize=64)
def _custom(epsg: str) -> Grid | None:
    """A grid that a programme's line of settings names, with the bounds of its own CRS."""
    try:
        crs = CRS(epsg)
        area = crs.area_of_use
        if area is None or not crs.is_projected:
            return None
        back = Transformer.from_crs("EPSG:4326", crs, always_xy=True)
        west, south, east, north = back.transform_bounds(*area.bounds)
    except CRSError:
        return None
    return Grid(epsg, (west, east), (south, north), 5.0)


def switched_on(scene: Scene) -> Iterator[tuple[str, Grid]]:
    """The stand-alone grids in which this programme lets a bare pair be read."""
    for name in scene.grids:
        if name in GRIDS:
            yield name, GRIDS[name]
    for name, epsg in scene.extra.items():
        grid = _custom(epsg) if epsg.upper().startswith("EPSG:") else None
        if grid is not None:
            yield name, grid


def find_named_pairs(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Pairs with their grid's name before them: "NZTM 1824628 5654815"."""
    claims: list[Claim] = []
    for match in _NAMED.finditer(low):
        name = NAMES[match["name"]]
        grid, pair = GRIDS[name], read_pair(match)
        start, end = match.span()
        if name == "irish" and is_square(match):
            continue  # The reader of Ireland's squares has it.
        if pair is None or not grid.holds(pair.east, pair.north):
            claims.append(unclear(page, start, end, "outside_grid"))
            continue
        place = point(grid.epsg, pair, name, grid.slack_m)
        claims.append(
            found(page, start, end, place) if place else unclear(page, start, end, "outside_grid")
        )
    return claims


def find_bare_pairs(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Bare pairs, in the grids that are switched on; a pair that fits several is asked about."""
    grids = tuple(switched_on(scene))
    if not grids:
        return []
    claims: list[Claim] = []
    for match in _BARE.finditer(low):
        pair = read_pair(match)
        if pair is None or not pair.full or not (pair.wide or pair.lettered):
            continue
        start, end = match.span()
        places = _in_grids(grids, pair)
        if places:
            claims.append(one_of(page, scene, start, end, places))
        elif not pair.lettered and (turned := _in_grids(grids, pair.swapped())):
            offers = tuple(choice(p) for p in turned)
            claims.append(unclear(page, start, end, "swapped", offers))
    return claims


def _in_grids(grids: tuple[tuple[str, Grid], ...], pair: Pair) -> tuple[Place, ...]:
    """The places that a pair may mean, one for each grid that holds it."""
    fits = ((name, grid) for name, grid in grids if grid.holds(pair.east, pair.north))
    places = (point(grid.epsg, pair, name, grid.slack_m) for name, grid in fits)
    return tuple(p for p in places if p is not None)
