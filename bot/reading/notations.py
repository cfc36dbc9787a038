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
from bot.reading.claims import Claim, lowered
from bot.reading.degrees import find_degrees
from bot.reading.grids import find_bare_pairs, find_named_pairs
from bot.reading.iso6709 import find_iso6709
from bot.reading.links import find_links
from bot.reading.newzealand import find_lettered_pairs, find_nzms260, find_topo50
from bot.reading.page import Page
from bot.reading.pluscode import find_plus_codes
from bot.reading.scene import Scene
from bot.reading.utm import find_squares, find_utm

Reader = Callable[[Page, Scene, str], list[Claim]]


@dataclass(frozen=True, slots=True)
class Notation:
    """One row: its name, what must stand in a (lower-case) text for it to be tried, its reader."""

    name: str
    hint: re.Pattern[str]
    read: Reader


_FIGURES = re.compile(r"\d{5}")
_SQUARE_LIKE = re.compile(r"\d ?[a-z] ?[a-z]{2} ?\d\d")
_SHEET_LIKE = re.compile(r"[a-z]\d\d[ :,/]{0,2}\d{3}|[abc][a-z] \d\d[ :,/]{1,2}\d{3}")
_LETTERS_LIKE = re.compile(r"(?<![a-z])[hjnost][a-z] ?\d")
_LETTER_LIKE = re.compile(r"(?<![a-z])[a-z] ?\d{3}")
_TWO_NUMBERS = re.compile(r"\d[^\d]{1,14}\d")

NOTATIONS: tuple[Notation, ...] = (
    Notation("link", re.compile(r"geo:|://|www\.|\w\.\w{2,6}/"), find_links),
    Notation("plus code", re.compile(r"\w\+"), find_plus_codes),
    Notation("iso6709", re.compile(r"[+-]\d[\d.]*[+-]\d"), find_iso6709),
    Notation("mga", re.compile(r"mga|gda"), find_mga),
    Notation("named grid", re.compile(r"nztm|nzmg|osgb|bng|grid|itm|ig |tm75"), find_named_pairs),
    Notation("topo50", _SHEET_LIKE, find_topo50),
    Notation("nzms260", _SHEET_LIKE, find_nzms260),
    Notation("mgrs", _SQUARE_LIKE, find_squares),
    Notation("utm", _FIGURES, find_utm),
    Notation("osgb", _LETTERS_LIKE, find_britain),
    Notation("nz lettered", re.compile(r"\d{7}"), find_lettered_pairs),
    Notation("mga bare", _FIGURES, find_bare_mga),
    Notation("grids", _FIGURES, find_bare_pairs),
    Notation("irish", _LETTER_LIKE, find_ireland),
    Notation("degrees", _TWO_NUMBERS, find_degrees),
)
"""In the order in which they are tried: the more exact the shape, the earlier."""

_ANY = re.compile(r"\d[^\d]{0,14}\d|\w\+|://")


def find_notations(page: Page, scene: Scene) -> tuple[Claim, ...]:
    """Every place written as coordinates, in the order of the text; each stretch is struck."""
    low = lowered(page.left)
    if _ANY.search(low) is None:
        return ()
    claims: list[Claim] = []
    for notation in NOTATIONS:
        if notation.hint.search(low):
            claims += notation.read(page, scene, low)
            low = lowered(page.left)
    return tuple(sorted(claims, key=lambda c: c.start))
