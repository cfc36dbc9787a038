"""PURE. One cell of a table that a person may open in a spreadsheet, and the way back from it."""

from __future__ import annotations

import re
import unicodedata

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_ACTIVE = ("=", "+", "-", "@", "|", "%")


def safe_cell(words: str) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe before whatever begins like
    one and is no plain number. `plain_cell` takes it off again."""
    first = unicodedata.normalize("NFKC", words.lstrip())[:1]
    risky = first in _ACTIVE or words[:1] in ("\t", "\r", "\n")
    return f"'{words}" if risky and first and not _NUMBER.fullmatch(words.strip()) else words


def plain_cell(cell: str) -> str:
    """The words of a cell that `safe_cell` made; any other apostrophe stays."""
    return cell[1:] if cell[:1] == "'" and safe_cell(cell[1:]) == cell else cell
