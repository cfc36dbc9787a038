"""The characters of a text -> runs of tokens that may be angles: numbers, marks, letters.

One character stands for each token, so that the shapes in angle_shapes.py are plain expressions.
A number that belongs to a unit, a date, a time, money or a telephone ends a run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

# i integer, f decimal, t dotted or colon triple, x long figure (compact form)
# D M S marks, z the letter s (second or south), A north or south, O east or west
# q a quotation mark that opens a run, L latitude, G longitude (the words), + - signs
# ~ a glued dash, "," a comma and its kin, & "and", "." a point that a space follows
# ! a number with one strange letter glued to it ("3A"): whatever it is, it is not left out
NUMERALS = "iftx"

HEMISPHERES = {
    "n": "A", "north": "A", "norte": "A", "nord": "A", "south": "A", "sud": "A", "sur": "A",
    "s": "z", "e": "O", "w": "O", "o": "O", "east": "O", "west": "O", "este": "O",
    "oeste": "O", "ouest": "O", "est": "O",
}  # fmt: skip
NEGATIVE = frozenset({"s", "south", "sud", "sur", "w", "o", "west", "oeste", "ouest"})

WEAK = frozenset({"sur", "est", "este", "sud"})
"""Directions that are also common words ("sur" is on, "est" is is): never read alone."""

_WORDS = HEMISPHERES | {
    "d": "D", "deg": "D", "degs": "D", "degree": "D", "degrees": "D", "grados": "D",
    "degres": "D", "degrés": "D", "grad": "D",
    "m": "M", "min": "M", "mins": "M", "minute": "M", "minutes": "M", "minutos": "M",
    "sec": "S", "secs": "S", "second": "S", "seconds": "S", "segundos": "S", "seg": "S",
    "secondes": "S",
    "lat": "L", "latitude": "L", "latitud": "L", "gpslatitude": "L",
    "lon": "G", "long": "G", "lng": "G", "longitude": "G", "longitud": "G", "gpslongitude": "G",
    "and": "&", "by": "&", "y": "&", "et": "&",
}  # fmt: skip

_GLUED = frozenset(mark + letter for mark in "ms" for letter in "nsewo") - {"mn", "so", "mo"}

_UNITS = frozenset({
    "kg", "kgs", "kilo", "kilos", "k", "km", "kms", "ks", "lb", "lbs", "g", "cm", "mm", "metre",
    "metres", "meter", "meters", "mtr", "mtrs", "yd", "yds", "yard", "yards", "ft", "feet",
    "hr", "hrs", "hour", "hours", "h", "am", "pm", "days", "day", "yrs", "yr", "years", "pts",
    "point", "points", "gr", "grain", "grains", "win", "th", "st", "nd", "rd", "x", "dollars",
    "euros", "litres", "l", "ha", "acres", "mph", "kmh",
})  # fmt: skip

_TOKEN = re.compile(
    r"(?P<word>[^\W\d_]+)"
    r"|(?P<stop>\d{4}-\d\d?-\d\d?(?!\d)|\d{1,2}/\d{1,2}/\d{2,4}(?![\d.])"
    r"|\d{1,2}-\d{1,2}-\d{4}(?!\d)|(?<![a-z])\.\d+|[$£€#]\s?\d[\d.,]*|\d{8,}|\d+(?:\.\d+)?%)"
    r"|(?P<triple>(?<!\d)(?<!\d:)\d{1,3}:\d{1,2}:\d{1,2}(?:[.,]\d+(?![\d.]))?(?![\d:])"
    r"|(?<!\d)(?<!\d:)\d{1,3}:\d{1,2}(?:\.\d+)?(?![\d:])"
    r"|\d{1,3}\.\d{1,2}\.\d{1,2}(?:[.,]\d+(?![\d.]))?(?!\.?\d)"
    r"|\d{1,3}\.\d{2}\.\d{3}(?!\.?\d))"
    r"|(?P<number>\d+(?:\.\d+)?)"
    r"|(?P<mark>''|[°'\"?@*,;/|&+\-:=.()~\u00b7])"
    r"|(?P<other>[^\s])"
)


# Two numbers with nothing but marks and known words between them: only around such places
# is a text cut into tokens at all. "6.30" alone is one number, "18:45" and "12/11/2026" are one.
_KNOWN = "|".join(sorted(_WORDS, key=len, reverse=True))
_PAIRISH = re.compile(
    rf"\d(?!\.\d|:\d\d(?!\d|\.\d)|/\d\d?/|/\d{{4}})"
    rf"(?:[^\w\x00]|(?:{_KNOWN})(?![^\W\d_])){{1,40}}\d"
)

_MARGIN = 24
"""Characters around such a place that may still belong to it: a label, a letter, a sign."""


@dataclass(slots=True)
class Token:
    """One token: its character, its text, and where it stands."""

    kind: str
    text: str
    start: int
    end: int


def runs(low: str) -> list[list[Token]]:
    """The stretches of a lower-case text that hold nothing but what angles are made of."""
    return [run for start, end in _segments(low) for run in _runs(low, start, end)]


def _segments(low: str) -> list[tuple[int, int]]:
    """The parts of the text around two numbers that stand together, cut at spaces."""
    segments: list[tuple[int, int]] = []
    for match in _PAIRISH.finditer(low):
        start = low.rfind(" ", 0, max(0, match.start() - _MARGIN)) + 1
        end = low.find(" ", match.end() + _MARGIN)
        end = len(low) if end < 0 else end
        if segments and start <= segments[-1][1]:
            segments[-1] = (segments[-1][0], end)
        else:
            segments.append((start, end))
    return segments


def _runs(low: str, first: int, last: int) -> list[list[Token]]:
    found: list[list[Token]] = []
    run: list[Token] = []
    poisoned = -1  # Where a word ended that no number may be glued to.
    for match in _TOKEN.finditer(low, first, last):
        group, text, start = match.lastgroup, match[0], match.start()
        if group == "word":
            kind = _word(text, start, low, run)
            if kind is None:
                run = _close(found, run)
                poisoned = match.end()
                continue
        elif group == "number" or group == "triple":
            if start == poisoned:
                run = _close(found, run)
                continue
            kind = "t" if group == "triple" else _numeral(text)
        elif group == "mark":
            kind = _mark(text, start, match.end(), low, run)
        else:
            kind = None
        if kind is None:
            run = _close(found, run)
        elif kind:
            run.append(Token(kind, text, start, match.end()))
    _close(found, run)
    return found


def _close(found: list[list[Token]], run: list[Token]) -> list[Token]:
    """Keep a run that has two numbers in it; begin an empty one."""
    if run and run[0].kind == "q":
        # The run stands in quotation marks: the closing one is no mark of seconds.
        quote = run.pop(0).text
        closing = [i for i, t in enumerate(run) if t.text == quote]
        if closing:
            del run[closing[-1]]
    if len(run) > 1 and len([t for t in run if t.kind in NUMERALS]) > 1:
        found.append(run)
    return []


def _numeral(text: str) -> str:
    whole, _, decimals = text.partition(".")
    if len(whole) > 3:
        return "x"
    return "f" if decimals else "i"


def _word(text: str, start: int, low: str, run: list[Token]) -> str | None:
    """The kind of a word, or None where it ends the run; a unit takes its number with it."""
    last = run[-1] if run else None
    kind = _WORDS.get(text)
    if text == "w" and low.startswith("w/ ", start) and low[start - 1 : start] != "\xb0":
        kind = None  # "w/ 2 dogs"
    glued = last is not None and last.end == start and last.kind in NUMERALS
    if kind is not None:
        return kind
    if glued and text in _GLUED:
        # "36d52m21sS": the mark of minutes or seconds and the hemisphere in one.
        run.append(Token("M" if text[0] == "m" else "S", text[0], start, start + 1))
        run.append(Token(HEMISPHERES[text[1]], text[1], start + 1, start + 2))
        return ""
    if last is not None and last.kind in NUMERALS and (glued or text in _UNITS):
        run.pop()
        if len(text) == 1 and text not in _UNITS:
            run.append(Token("!", text, start, start + 1))
    return None


def _mark(text: str, start: int, end: int, low: str, run: list[Token]) -> str | None:
    """The kind of a mark, "" where it says nothing, None where it ends the run."""
    last = run[-1] if run else None
    after = low[end : end + 1]
    if text in "+-":
        return _sign(text, start, after, last)
    if text in "'\"" and (last is None or last.kind in "LG," or _quoted(text, low, last)):
        return "q" if last is None else ""
    if text == "°" and last is not None and last.kind in "AOz" and _NUMBER_NEXT.match(low, end):
        return ""  # "N° 50.636, E° 14.337"
    if text == "," and last is not None and last.kind in "DM" and last.text in _WORDS:
        return ""  # "36 degrees, 52 minutes"
    if text in _FIXED:
        return _FIXED[text]
    if text == "*" and not _STARRED.match(low, end):
        return ""
    if text in "?@*":
        # A telephone or carrier that cannot show a degree mark puts one of these.
        between = last is not None and last.end == start and last.kind in "if"
        return "D" if between and (after.isdigit() or after in " nsew") and after else None
    if text in ":=":
        between = last is not None and last.end == start and len(last.text) > _FINE
        if text == ":" and between and last is not None and last.kind == "f" and after.isdigit():
            return ","  # "51.0504:13.7373"
        return "" if last is not None and last.kind in "LGAOz" else None
    if text == ".":
        return _point(start, end, low, last)
    return ""


_STARRED = re.compile(r" ?\d{1,2}(?:\.\d+)? ?(?:'|[nsew](?![a-z]))|,? ?[nsew](?![a-z])")
"""What follows a star that stands for a degree mark; elsewhere one multiplies."""

_NUMBER_NEXT = re.compile(r" ?\d")
_FINE = 4
"""Characters of a decimal number that is too fine for a time, so that a colon may part two."""

_DECIMALS_NEXT = re.compile(r" \d{3,6}(?!\d|[.,]\d)")


def _point(start: int, end: int, low: str, last: Token | None) -> str | None:
    """A point that is no decimal one: behind a label or mark it says nothing, behind an integer
    it may be decimal after all, where a telephone put a space after it ("56. 031")."""
    if last is None:
        return None
    if last.kind in "LGDMS":
        return ""  # "Lat. 36 deg. 52 min."
    if last.kind in "AOz":
        return "," if low[end : end + 1] in " ," else None
    split = last.kind == "i" and last.end == start and _DECIMALS_NEXT.match(low, end)
    return "." if split else None


def _quoted(quote: str, low: str, last: Token) -> bool:
    """Whether the number before this mark stands in quotation marks: lat="-36.87"."""
    first = last.start - (low[last.start - 1 : last.start] in ("+", "-"))
    return last.kind in NUMERALS and low[first - 1 : first] == quote and low[first - 2] in "=: "


_FIXED = {
    "°": "D", "'": "M", "''": "S", '"': "S", ",": ",", ";": ",", "/": ",", "|": ",", "&": "&",
    "(": "", ")": "", "~": "", "\u00b7": ",",
}  # fmt: skip


def _sign(text: str, start: int, after: str, last: Token | None) -> str | None:
    glued = last is not None and last.end == start
    if after.isdigit():
        if glued and last is not None and last.kind in NUMERALS:
            return "~" if text == "-" and last.kind == "i" else None
        return text
    return "&" if text == "-" and last is not None else None


def with_decimals(run: list[Token]) -> list[list[Token]]:
    """A run as it stands, and with the commas between glued integers taken as decimal ones, or
    the points that a space follows."""
    split = [i for i in range(len(run) - 2) if run[i + 1].kind == "." and run[i + 2].kind in "ix"]
    if split:
        return [run, _merged(run, split)]
    glued = [i for i in range(len(run) - 2) if _comma_at(run, i)]
    if not glued:
        return [run]
    # In a chain ("36,8734,147,1523") only long decimals tell which comma is which.
    if any(b - a == 2 for a, b in pairwise(glued)):
        glued = [i for i in glued if len(run[i + 2].text) > 2]
    return [run, _merged(run, glued)]


def _merged(run: list[Token], places: list[int]) -> list[Token]:
    """The run with each integer, mark and figures at one of the places made one decimal."""
    merged: list[Token] = []
    index = 0
    while index < len(run):
        token = run[index]
        if index in places:
            last = run[index + 2]
            token = Token("f", f"{token.text}.{last.text}", token.start, last.end)
            index += 2
        merged.append(token)
        index += 1
    return merged


def _comma_at(run: list[Token], index: int) -> bool:
    """Whether an integer, a comma and figures stand here without a space."""
    whole, comma, decimals = run[index : index + 3]
    return (
        whole.kind == "i"
        and comma.text == ","
        and decimals.kind in "ix"
        and decimals.text.isdigit()
        and whole.end == comma.start
        and comma.end == decimals.start
    )
