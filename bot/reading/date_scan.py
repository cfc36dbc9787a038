"""Cuts a text into words, numbers and marks, with the shapes that only dates and times have.

Knows no language: `10/31/1974`, `2014-12-28T07:00+01:00`, `18h30` and `6.30 pm` are cut whole,
every word is cut bare. One expression, linear in the text; a stretch that another reader has
struck is one mark that nothing joins across.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from bot.reading.page import STRUCK


class Cut(NamedTuple):
    """One piece of a folded text. `kind` is one letter; the table below says which."""

    kind: str
    text: str
    start: int
    end: int


_PLAIN = str.maketrans("áàâäãéèêëíìîïóòôöõúùûüñçœ", "aaaaaeeeeiiiiooooouuuunco")

# The order decides: the longest and strictest shape stands first.
_SHAPES: tuple[tuple[str, str], ...] = (
    # A day with its time, ISO 8601, extended or basic.
    (
        "I",
        r"(?<!\d)\d{4}-\d\d-\d\d[t ]\d\d:\d\d(?::\d\d(?:[.,]\d{1,9})?)?"
        r"(?: ?z\b| ?[+-]\d\d:?\d\d(?!\d)|(?!\d))"
        r"|(?<!\d)\d{8}t\d{4}(?:\d\d)?(?:z\b|[+-]\d{4}(?!\d)|(?!\d))",
    ),
    # An ISO week date or ordinal date.
    ("J", r"(?<!\d)\d{4}-?w\d\d-?[1-7](?!\d)|(?<![\d-])\d{4}-\d{3}(?![\d-])"),
    # A day in figures with its year.
    (
        "X",
        r"(?<!\d)(?<!\d[-/.,])(?:"
        r"\d{4}(?P<a>[-/.])\d{1,2}(?P=a)\d{1,2}(?!\d)(?![-/]\d)"
        r"|\d{1,2} ?(?P<b>[-/.]) ?\d{1,2} ?(?P=b) ?(?:\d{4}|\d\d)(?!\d)(?![-/]\d)(?!\.\d(?!\d?:))"
        r"|(?<!\d )\d{1,2} \d{1,2} (?:19|20)\d\d(?![\d:])(?! \d\d(?![\d:h]))"
        r"|(?<!\d )(?:19|20)\d\d \d\d \d\d(?![\d:])(?! \d)"
        r"|(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?![\d.,-]))",
    ),
    # A time with am or pm; with a colon; with an h.
    ("k", r"(?<![\d.:,/])\d{1,2}(?:[:.h]\d\d(?::\d\d)?)? ?[ap]\.? ?m\b\.?"),
    ("k", r"(?<![\d:,/])\d{1,2}:\d\d(?::\d\d(?:[.,]\d{1,9})?)?(?![\d:])"),
    ("k", r"(?<![\d.:,/])\d{1,2} ?h ?\d\d(?:min|mn)?(?!\w)"),
    ("H", r"(?<![\d.:,/])\d{1,2} ?hr?s?(?!\w)"),
    # Day and month in figures, no year.
    ("E", r"(?<![\d/.,$-])\d{1,2}/\d{1,2}(?![\d/])(?!\.\d)"),
    ("O", r"(?<![\d.,/-])\d{1,2} ?(?:st|nd|rd|th)\b"),
    ("O", r"(?<![\d.,/-])(?:\d{1,2}(?:ere|ero|er|re|eme)(?!\w)|1° ?(?=de\b))"),
    ("p", r"\d+(?:[.,]\d+)+|(?<![^\W\d_])\.\d+"),
    ("0", r"\d+"),
    ("W", r"[^\W\d_]+"),
    ("|", STRUCK + "+"),
    (";", r"[^\w\s]|_"),
)

_CUT = re.compile("|".join(f"(?P<g{i}>{shape})" for i, (_, shape) in enumerate(_SHAPES)))
_KIND = {f"g{i}": kind for i, (kind, _) in enumerate(_SHAPES)}
_KIND_AT = {_CUT.groupindex[name]: kind for name, kind in _KIND.items()}


def fold(text: str) -> str:
    """Lower case without accents, character for character, so that places stay the same."""
    low = text.lower()
    if len(low) != len(text):
        low = "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
    return low if low.isascii() else low.translate(_PLAIN)


def cut(folded: str) -> list[Cut]:
    """The pieces of a folded text in order, spaces left out."""
    found: list[Cut] = []
    for m in _CUT.finditer(folded):
        kind = _KIND_AT[m.lastindex or 0]
        start, end = m.span()
        word = folded[start:end]
        if kind == ";":
            kind = _MARKS.get(word, ";")
        elif kind == "0":
            kind = _digits(word)
        found.append(Cut(kind, word, start, end))
    return found


_MARKS = {",": ",", ".": ".", "-": "-", "/": "/", "'": "'", "@": "@", "]": "."}


def _digits(word: str) -> str:
    """1 one digit, # two, Y a year (1900 to 2099), 4 another four that can be a time of day,
    9 any other number."""
    if len(word) <= 2:
        return "1#"[len(word) - 1]
    if len(word) != 4 or word >= "2400":
        return "9"
    return "Y" if "1900" <= word < "2100" else "4"


def words_of(phrase: str) -> tuple[str, ...]:
    """A phrase of the calendar, cut as a text is: "aujourd'hui" gives three pieces."""
    return tuple(piece.text for piece in cut(fold(phrase)))
