"""Cuts a text into words, numbers and marks, with the shapes that only dates and times have.

Knows no language: `10/31/1974`, `2014-12-28T07:00+01:00`, `18h30` and `6.30 pm` are cut whole,
every word is cut bare. One expression, linear in the text; a stretch that another reader has
struck is one mark that nothing joins across.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from bot.reading.page import STRUCK

Values = Mapping[str, int | str]
Cut = tuple[str, str, int, int, Values]
"""One piece of a folded text: its kind (one letter, below), its words, where it stands, and room
for what a language makes of it. A bare tuple, since every word of every text becomes one."""

NO_VALUES: Values = {}
WORD = "_"
"""The kind of a word, which is the letter of one that no language knows."""

_PLAIN = str.maketrans("áàâäãéèêëíìîïóòôöõúùûüñçœ", "aaaaaeeeeiiiiooooouuuunco")

# The order decides: the longest and strictest shape stands first.
_SHAPES: tuple[tuple[str, str], ...] = (
    # A day with its time, ISO 8601, extended or basic.
    (
        "I",
        r"(?<!\d)\d{4}-\d\d-\d\d[t ]\d\d:\d\d(?::\d\d(?:[.,]\d{1,9})?)?"
        r"(?: {0,3}z\b| {0,3}[+-]\d\d:?\d\d(?!\d)|(?!\d))"
        r"|(?<!\d)\d{8}t\d{4}(?:\d\d)?(?:z\b|[+-]\d{4}(?!\d)|(?!\d))",
    ),
    # An ISO week date or ordinal date.
    ("J", r"(?<!\d)\d{4}-?w\d\d-?[1-7](?!\d)|(?<![\d-])\d{4}-\d{3}(?![\d-])"),
    # A day in figures with its year.
    (
        "X",
        r"(?<!\d)(?<!\d[-/.,])(?:"
        r"\d{4}(?P<a>[-/.])\d{1,2}(?P=a)\d{1,2}(?!\d)(?![-/]\d)"
        r"|(?:\d{1,2}(?P<b>[-/])\d{1,2}(?P=b)|\d{1,2} {0,3}\. {0,3}\d{1,2} {0,3}\. {0,3})"
        r"(?:\d{4}(?!\d)|'?\d\d(?!\w))(?![-/]\d)(?!\.\d(?!\d?:))"
        r"|\d{1,2} / \d{1,2} / (?:19|20)\d\d(?!\d)"
        r"|\d{1,2}/\d{1,2},(?: ?(?:19|20)\d\d(?!\d)|\d\d(?!\w))"
        r"|(?<!\d )\d{1,2} {1,3}\d{1,2} {1,3}(?:19|20)\d\d(?!\d|:\d)(?! \d\d(?![\d:h]))"
        r"|(?<!\d )(?:19|20)\d\d {1,3}\d\d {1,3}\d\d(?![\d:])(?! \d)"
        r"|(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?!\d|[.,-]\d))",
    ),
    # A time with am or pm; with a colon; with an h.
    ("k", r"(?<![\d.:,/-])\d{3,4} {0,3}[ap]m\b"),
    ("k", r"(?<![\d.:,/])\d{1,2}(?:[:.h]\d\d(?::\d\d)?)? {0,3}[ap]\.? {0,3}m\b\.?"),
    ("k", r"(?<![\d:,/])\d{1,2}:\d\d(?::\d\d(?:[.,]\d{1,9})?)?(?!\d|:\d)"),
    ("k", r"(?<![\d.:,/])\d{1,2} {0,3}h {0,3}\d\d(?:min|mn)?(?!\w)"),
    # With a full stop only where a part of the day says that it is a time.
    (
        "k",
        r"(?<![\d.:,/-])(?:[01]?\d|2[0-3])\.[0-5]\d"
        r"(?= (?:(?:this|in the|last|yesterday|de la|ce) )?"
        r"(?:morning|arvo|afternoon|evening|night|manana|tarde|noche|matin|soir)(?!\w))",
    ),
    ("H", r"(?<![\d.:,/])\d{1,2} {0,3}(?:hr?s?|ish)(?!\w)"),
    # Half a pig, three quarters full, all the time: read as days only where they stand clear.
    ("Q", r"(?<![\d/.,$-])(?:1/2|[12]/3|[13]/4|24/7)(?![\d/])(?!\.\d)"),
    # Day and month in figures, no year.
    ("E", r"(?<![\d/.,$-])\d{1,2}/\d{1,2}(?![\d/])(?!\.\d)"),
    ("O", r"(?<![\d.,/-])\d{1,2} {0,3}(?:st|nd|rd|th)\b"),
    ("O", r"(?<![\d.,/-])(?:\d{1,2}(?:ere|ero|er|ro|re|eme)(?!\w)|1° {0,3}(?=de\b))"),
    # "Jan 1,2010" and "Sep.25.2003" hold a day and a year, no number.
    (
        "p",
        r"(?!(?:\d{1,2},|(?<=[a-z]\.)\d{1,2}\.)(?:19|20)\d\d(?!\d|[.,]\d))\d+(?:[.,]\d+)+|(?<![^\W\d_])\.\d+",
    ),
    ("0", r"\d+"),
)

# An empty group at the end of each shape tells which one matched, and leaves the first character
# of the shape bare, so that the engine passes over shapes that cannot begin here.
_CUT = re.compile(
    rf"[^\W\d_]+()|(?=[\d.])(?:{'|'.join(f'(?:{shape})()' for _, shape in _SHAPES)})"
    rf"|{STRUCK}+()|(?:[^\w\s]|_)()"
)


def _kinds() -> dict[int, str]:
    """The kind that each number of `lastindex` stands for; named groups inside count too."""
    kinds, number = {1: WORD}, 1
    for kind, shape in _SHAPES:
        number += re.compile(shape).groups + 1
        kinds[number] = kind
    return kinds | {number + 1: "|", number + 2: ";"}


_KIND = _kinds()


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
        kind = _KIND[m.lastindex or 0]
        start, end = m.span()
        word = folded[start:end]
        if kind == WORD:
            pass  # By far the most.
        elif kind == ";":
            kind = _MARKS.get(word, ";")
        elif kind == "0":
            kind = _digits(word)
        found.append((kind, word, start, end, NO_VALUES))
    return found


_MARKS = {",": ",", ".": ".", "-": "-", "/": "/", "'": "'", "@": "A", "]": "."}


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
    return tuple(word for _, word, *_ in cut(fold(phrase)))
