"""Great Britain's and Ireland's lettered squares: letters and an even count of figures.

A reference names the south-west corner of a square and its figures are cut, not rounded, so
the place is the square's centre (Ordnance Survey, Using the National Grid). Letters that are
also words are believed only where nothing else they could be is near.
"""

from __future__ import annotations

import re

from bot.reading.claims import Claim, found, unclear
from bot.reading.grids import GRIDS, square
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Place

ROWS = (
    "SV SW SX SY SZ TV TW", "SQ SR SS ST SU TQ TR", "SL SM SN SO SP TL TM",
    "SF SG SH SJ SK TF TG", "SA SB SC SD SE TA TB", "NV NW NX NY NZ OV OW",
    "NQ NR NS NT NU OQ OR", "NL NM NN NO NP OL OM", "NF NG NH NJ NK OF OG",
    "NA NB NC ND NE OA OB", "HV HW HX HY HZ JV JW", "HQ HR HS HT HU JQ JR",
    "HL HM HN HO HP JL JM",
)  # fmt: skip
"""The 100 km squares, northwards from northing 0, each row eastwards from easting 0."""

SQUARES = {
    letters: (column * 100_000, row * 100_000)
    for row, names in enumerate(ROWS)
    for column, letters in enumerate(names.split())
}

IRISH = {
    letter: (index % 5 * 100_000, (4 - index // 5) * 100_000)
    for index, letter in enumerate("ABCDEFGHJKLMNOPQRSTUVWXYZ")
}
"""The 25 squares of Ireland, from A in the north-west to Z in the south-east, no I."""

_WORDS = frozenset({
    "NO", "SO", "ST", "OR", "OF", "NE", "NW", "SE", "SW", "NZ", "HO", "TA", "TV", "HP", "SH",
})  # fmt: skip
"""Squares whose letters a text may hold as a word or a direction."""

_SMALL = frozenset({"NO", "SO", "OR", "OF"})
"""Those of them that stand before numbers: "NO 123456" may be a number's own name."""

# A number after one of these names a thing, not a place.
_THING = re.compile(
    r"(?<![a-z])(?:tags?|ear|permit|licen[cs]e|lic|ph|phone|tel|mob|reg|plate|code|call)\W{0,3}$"
)

# A letter after one of these is the hemisphere of an angle.
_ANGLE = re.compile(r"(?:[\d°'\"]|(?<![a-z])(?:deg|degrees|min|minutes|sec|seconds)|\d ?[dms]) ?$")

# And one before an angle in one run of figures, where the other angle follows in the same way.
_OTHER_ANGLE = re.compile(r"[ ,/]{0,2}[ew] ?\d{4,7}(?!\d|\.\d)")

_LETTERS = re.compile(
    r"(?<![\w.])(?P<letters>[hjnost][a-z]) ?"
    r"(?P<digits>\d{1,5}[ /,]{1,2}\d{1,5}|\d{2,10})(?: ?(?P<quarter>[ns][ew]))?(?![\w+]|[.,]\d)"
)
_LETTER = re.compile(
    r"(?<![\w.])(?P<letter>[a-z]) ?(?P<digits>\d{3,5}[ /,]{1,2}\d{3,5}|\d{6,10})"
    r"(?![\w+]|[.,]\d| \d{3})"
)
_SPLIT = re.compile(r"[ /,]+")


def find_britain(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Two letters and figures, to one metre: "NH 67056 46176", "TQ4480", "SK07SW"."""
    claims: list[Claim] = []
    for match in _LETTERS.finditer(low):
        claim = _british(page, scene, match, low)
        if claim is not None:
            claims.append(claim)
    return claims


def _british(page: Page, scene: Scene, match: re.Match[str], low: str) -> Claim | None:
    letters, (start, end) = match["letters"].upper(), match.span()
    corner, halves = SQUARES.get(letters), _halves(match["digits"])
    upper = page.left[start : start + 2].isupper()
    if corner is None:
        shaped = upper and halves is not None and len(halves[0]) >= 3 and scene.country in _HOMES
        return unclear(page, start, end, "no_such_square") if shaped else None
    if not _believed(page, scene, letters, match, low):
        return None
    if halves is None:
        many = len(re.sub(r"\D", "", match["digits"])) >= 5 and letters not in _WORDS
        return unclear(page, start, end, "odd_digits") if many else None
    tight = low[start + 2].isdigit()
    parted = _SPLIT.search(match["digits"]) is not None
    # To the metre, or in capitals, and no small word of its own: nothing else is written so.
    bound = tight or letters not in _SMALL
    sure = bound and len(halves[0]) == 5
    loud = upper and not _shouted(page) and (bound or parted)
    exact = _home(scene) and (tight or parted)
    if letters in _WORDS and not (loud or exact or sure):
        return unclear(page, start, end, "square_or_word")
    return _square_claim(page, match, "osgb", corner, halves)


_HOMES = ("", "GB", "IE")


def _shouted(page: Page) -> bool:
    """A text in capitals throughout, in which capitals tell nothing of two letters."""
    return page.plain.isupper() and sum(c.isalpha() for c in page.plain) > 4


def _home(scene: Scene) -> bool:
    """Whether the programme is one where these letters are everyday."""
    switched = bool(scene.country) and bool({"osgb", "irish"} & set(scene.grids))
    return scene.country in ("GB", "IE") or switched


def _believed(page: Page, scene: Scene, letters: str, match: re.Match[str], low: str) -> bool:
    """Whether letters and figures are meant as a square, by how much they look like one."""
    start, count = match.start(), len(re.sub(r"\D", "", match["digits"]))
    if _THING.search(low[max(0, start - 12) : start]):
        return False
    upper = page.left[start : start + 2].isupper()
    if letters in _WORDS:
        spaced = match["letters"] + " " in low
        return count >= 6 and (upper or spaced or count == 10 or _home(scene))
    tight = low[start + 2 : start + 3].isdigit()
    return count >= 6 or (count == 4 and (upper or tight)) or (upper and tight) or _home(scene)


def _halves(digits: str) -> tuple[str, str] | None:
    """The figures of easting and northing, or None where they are not of equal count."""
    parts = _SPLIT.split(digits)
    if len(parts) == 2:
        return (parts[0], parts[1]) if len(parts[0]) == len(parts[1]) else None
    half, odd = divmod(len(digits), 2)
    return None if odd else (digits[:half], digits[half:])


def _square_claim(
    page: Page, match: re.Match[str], name: str, corner: tuple[int, int], halves: tuple[str, str]
) -> Claim:
    size = 10.0 ** (5 - len(halves[0]))
    east, north = corner[0] + int(halves[0]) * size, corner[1] + int(halves[1]) * size
    quarter = match.groupdict().get("quarter")
    if quarter:
        # A quarter sheet, as the Ordnance Survey names its tiles: SK07SW, SK0472SE.
        size /= 2
        east, north = east + size * (quarter[1] == "e"), north + size * (quarter[0] == "n")
    grid = GRIDS[name]
    place: Place | None = square(grid.epsg, east, north, size, name, grid.slack_m)
    if place is None:
        return unclear(page, *match.span(), "outside_grid")
    return found(page, *match.span(), place)


def find_ireland(page: Page, scene: Scene, low: str) -> list[Claim]:
    """One letter and six to ten figures: "O 15904 34671". Read in Ireland, or in no country."""
    if scene.country not in ("", "IE", "GB") and "irish" not in scene.grids:
        return []
    claims: list[Claim] = []
    for match in _LETTER.finditer(low):
        claim = _irish(page, scene, match, low)
        if claim is not None:
            claims.append(claim)
    return claims


def _irish(page: Page, scene: Scene, match: re.Match[str], low: str) -> Claim | None:
    letter, (start, end) = match["letter"].upper(), match.span()
    halves, corner = _halves(match["digits"]), IRISH.get(letter)
    if halves is None or corner is None or len(halves[0]) < 3:
        return None
    if _ANGLE.search(low[max(0, start - 12) : start]):
        return None
    if letter in "NS" and _OTHER_ANGLE.match(low, end):
        return None
    if _THING.search(low[max(0, start - 12) : start]):
        return None
    home = scene.country == "IE" or bool(scene.country and "irish" in scene.grids)
    upper = page.left[start].isupper()
    if len(halves[0]) == 3 and not home and not upper and letter in "AOENSWY":
        # "o 159 346" may be "or", "zero", "a hundred and ...", or half of two angles.
        return None
    if len(halves[0]) == 3 and not home and not (upper and _SPLIT.search(match["digits"])):
        return unclear(page, start, end, "square_or_number")
    return _square_claim(page, match, "irish", corner, halves)
