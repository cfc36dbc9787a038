"""The one table of coordinate notations, and the walk of a text down it.

Each reader sees what those before it left on the page, claims its stretches and strikes them.
A new notation is a function and a row here. Nothing raises: a text gives places, questions
about places, or nothing.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from bot.reading.australia import find_bare_mga, find_mga
from bot.reading.britain import find_britain, find_ireland
from bot.reading.claims import Claim
from bot.reading.degrees import find_degrees
from bot.reading.grids import find_bare_pairs, find_named_pairs
from bot.reading.links import find_links
from bot.reading.newzealand import find_lettered_pairs, find_nzms260, find_topo50
from bot.reading.page import Page
from bot.reading.pluscode import find_plus_codes
from bot.reading.scan import lowered
from bot.reading.scene import Scene
from bot.reading.standard_strings import find_iso6709, find_points
from bot.reading.utm import find_squares, find_utm

Reader = Callable[[Page, Scene, str], list[Claim]]


@dataclass(frozen=True, slots=True)
class Notation:
    """One row: its name, its reader, and what a text must hold for it to be tried at all:
    a run of so many figures, one of some marks, a rough shape."""

    name: str
    read: Reader
    figures: int = 1
    marks: tuple[str, ...] = ()
    shape: re.Pattern[str] | None = None

    def wanted(self, low: str) -> bool:
        """Whether this lower-case text, with figures enough, is worth trying."""
        if self.marks and not any(map(low.__contains__, self.marks)):
            return False
        return self.shape is None or self.shape.search(low) is not None


# Each begins with a figure and looks back for its letters: most of a text is letters, and an
# expression that begins with one stops at every one of them.
_SQUARE = re.compile(r"\d ?[a-z][ /-]?[a-z]{2}[ /-]?\d\d")
_SHEET = re.compile(
    r"\d\d(?:(?<=[a-z]\d\d)[ :,/-]{0,2}|(?<=[a-z] \d\d)[ :,/-]{1,2})(?:g\w{1,3} (?:ref )?)?\d{3}"
)
_LETTERS = re.compile(r"\d(?:(?<=[hjnost][a-z]\d)|(?<=[hjnost][a-z] \d))")
_LETTER = re.compile(r"\d{3}(?:(?<=[a-z]\d{3})|(?<=[a-z] \d{3}))")
_LINK = re.compile(r"[.:](?:(?<=www\.)|(?<=geo:)|//|[\w-]+/)")
_GRID_NAMES = ("nztm", "nzmg", "osgb", "bng", "grid", "itm", "ig ", "tm75")

NOTATIONS: tuple[Notation, ...] = (
    Notation("link", find_links, figures=0, marks=("/", "geo:", "www."), shape=_LINK),
    Notation("plus code", find_plus_codes, figures=0, marks=("+",)),
    Notation("iso6709", find_iso6709, figures=2, marks=("+", "-")),
    Notation("point", find_points, marks=("point", "coordinates")),
    Notation("mga", find_mga, figures=6, marks=("mga", "gda")),
    Notation("named grid", find_named_pairs, figures=4, marks=_GRID_NAMES),
    Notation("topo50", find_topo50, figures=3, shape=_SHEET),
    Notation("nzms260", find_nzms260, figures=3, shape=_SHEET),
    Notation("mgrs", find_squares, figures=2, shape=_SQUARE),
    Notation("utm", find_utm, figures=6),
    Notation("osgb", find_britain, figures=2, shape=_LETTERS),
    Notation("nz lettered", find_lettered_pairs, figures=7),
    Notation("mga bare", find_bare_mga, figures=6),
    Notation("grids", find_bare_pairs, figures=5),
    Notation("irish", find_ireland, figures=3, shape=_LETTER),
    Notation("degrees", find_degrees),
)
"""In the order in which they are tried: the more exact the shape, the earlier."""

_FIGURES = re.compile(r"\d+")
_THOUSANDS = re.compile(r"(?<!\d)\d[ ,']\d{3}[ ,']\d{3}(?!\d)")
"""A number of seven figures, its thousands parted."""


def find_notations(page: Page, scene: Scene) -> tuple[Claim, ...]:
    """Every place written as coordinates, in the order of the text; each stretch is struck."""
    low = lowered(page.left)
    longest = max(map(len, _FIGURES.findall(low)), default=0)
    if 3 <= longest < 7 and _THOUSANDS.search(low):
        longest = 7
    claims: list[Claim] = []
    for notation in NOTATIONS:
        if longest >= notation.figures and notation.wanted(low):
            claimed = notation.read(page, scene, low)
            if claimed or notation.name == "link":
                claims += claimed
                low = lowered(page.left)
    return tuple(sorted(claims, key=lambda c: c.start))
