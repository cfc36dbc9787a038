"""Cuts a text into words, numbers and marks, with the shapes that only dates and times have.

Knows no language: `10/31/1974`, `2014-12-28T07:00+01:00`, `18h30` and `6.30 pm` are cut whole,
every word is cut bare. The words are those of the scan; one expression, linear in the text, finds
the rest. A stretch that another reader has struck is one mark that nothing joins across.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from bot.reading.scan import STRUCK, Scan, scan_of

Values = Mapping[str, int | str]
Cut = tuple[str, str, int, int, Values]
"""One piece of a folded text: its kind (one letter, below), its words, where it stands, and room
for what a language makes of it. A bare tuple, since every word of every text becomes one."""

NO_VALUES: Values = {}
WORD = "_"
"""The kind of a word, which is the letter of one that no language knows."""

_PLAIN = str.maketrans("áàâäãéèêëíìîïóòôöõúùûüñçœ", "aaaaaeeeeiiiiooooouuuunco")
_REMEMBERED = 8192
"""Words of texts that are kept without accents: they repeat, and the store must not grow."""

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
        r"(?!(?:\d{1,2},|(?<=[a-z]\.)\d{1,2}\.)(?:19|20)\d\d(?!\d|[.,]\d))"
        r"\d+(?:[.,]\d+)+|(?<![^\W\d_])\.\d+",
    ),
    ("0", r"\d+"),
)

# An empty group at the end of each shape tells which one matched, and leaves the first character
# of the shape bare, so that the engine passes over what cannot begin here.
_CUT = re.compile(
    rf"(?=[\d.])(?:{'|'.join(f'(?:{shape})()' for _, shape in _SHAPES)})"
    rf"|[^\W\d_]+()|{STRUCK}+()|(?:[^\w\s]|_)()"
)


def _kinds() -> dict[int, str]:
    """The kind that each number of `lastindex` stands for; named groups inside count too."""
    kinds, number = {}, 0
    for kind, shape in _SHAPES:
        number += re.compile(shape).groups + 1
        kinds[number] = kind
    return kinds | {number + 1: WORD, number + 2: "|", number + 3: ";"}


_KIND = _kinds()


def cut(scan: Scan) -> list[Cut]:
    """The pieces of a scanned text in order, spaces left out."""
    low, words, starts, ends, gaps = scan
    if not low.isascii():
        low, words = low.translate(_PLAIN), list(map(_bare, words))
    pieces: list[Cut] = []
    at, quoted = 0, "'" in low
    for word, start, end, gap in zip(words, starts, ends, gaps, strict=True):
        if gap != " " and gap:
            at = _cut_on(low, max(at, start - len(gap)), start, pieces)
        if start < at and (end <= at or word > "@"):
            continue  # A figure has taken it in: "6.30 pm".
        if word > "@" and not word[0].isdecimal() and not (quoted and "'" in word):
            pieces.append((WORD, word, start, end, NO_VALUES))
        else:
            at = _cut_on(low, max(at, start), end, pieces)
    _cut_on(low, max(at, ends[-1] if ends else 0), len(low), pieces)
    return pieces


def _cut_on(low: str, at: int, stop: int, pieces: list[Cut]) -> int:
    """Cut what may hold figures and marks, from one character up to another or, where a figure
    goes on, beyond it; gives where it ends."""
    while at < stop:
        m = _CUT.match(low, at)
        if m is None:  # A space.
            at += 1
            continue
        start, at = m.span()
        kind, text = _KIND[m.lastindex or 0], low[start:at]
        if kind == ";":
            kind = _MARKS.get(text, ";")
        elif kind == "0":
            kind = _digits(text)
        pieces.append((kind, text, start, at, NO_VALUES))
    return at


@lru_cache(maxsize=_REMEMBERED)
def _bare(word: str) -> str:
    """A word of small letters without accents, letter for letter."""
    return word if word.isascii() else word.translate(_PLAIN)


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
    return tuple(word for _, word, *_ in cut(scan_of(phrase)))
