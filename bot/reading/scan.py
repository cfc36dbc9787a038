"""The words of a text, cut and folded once for all its readers.

A scan is columns, not rows: most readers need only the folded words, to see at one look whether
there is anything for them. What a reader strikes is left out of the next one's scan without cutting
the text up again.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

# Splitting by one group gives what stands between and the words, turn about: far cheaper than a
# match object for each. Most texts are ASCII without an apostrophe, and small classes of letters
# and plain runs are faster to match.
_TAIL = r"|\d+(?:[.,]\d+)?|[½¼¾@&])"
_SPLIT = re.compile(r"([^\W\d_½¼¾]+(?:'[^\W\d_½¼¾]+)*" + _TAIL)
_PLAIN_SPLIT = re.compile(r"([a-z]+|[0-9]+(?:[.,][0-9]+)?|[@&])")

STRUCK = "\x00"
"""What stands in the place of a character that a reader has claimed."""

_REMEMBERED = 8192
"""Words of texts that are kept folded: they repeat, and the store must not grow."""

_FOLD = str.maketrans("áàâäãåçéèêëíìîïñóòôöõúùûüýÿāēīōū", "aaaaaaceeeeiiiinooooouuuuyyaeiou")
# "We're" is not "were": one tells of people, the other of anything.
_KEPT_APART = {"we're": "weare"}
_FOLDS = {"œ": "oe", "æ": "ae", "ß": "ss"}


class Scan(NamedTuple):
    """The words and numbers of a text in small letters, where they stand, and what stands before
    each. `low` is what was cut, character for character."""

    low: str
    words: list[str]
    starts: list[int]
    ends: list[int]
    gaps: list[str]


def lowered(text: str) -> str:
    """The text in lower case, of the same length whatever letters it holds."""
    low = text.lower()
    if len(low) == len(text):
        return low
    # A letter that grows when made small ("\u0130") may not; stretches stay those of the text.
    return "".join(c.lower()[0] for c in text)


@lru_cache(maxsize=_REMEMBERED)
def fold(word: str) -> str:
    """A word as the books keep it: small letters, no accents, no apostrophes."""
    word = word.lower()
    if "'" in word:
        word = _KEPT_APART.get(word) or word.replace("'", "")
    if word.isascii():
        return word
    for odd, plain in _FOLDS.items():
        word = word.replace(odd, plain)
    return word.translate(_FOLD)


def scan_of(text: str) -> Scan:
    """Cut a text into words and numbers, in order."""
    low = lowered(text)
    split = (_PLAIN_SPLIT if low.isascii() and "'" not in low else _SPLIT).split(low)
    ends = list(accumulate(map(len, split)))
    return Scan(low, split[1::2], ends[:-1:2], ends[1::2], split[:-1:2])


def without(scan: Scan, start: int, end: int) -> Scan:
    """The scan of what a strike from one character to before another leaves. Where the strike
    begins or ends inside a word, what is left is cut up anew."""
    low, words, starts, ends, gaps = scan
    low = low[:start] + STRUCK * (end - start) + low[end:]
    first, after = bisect_left(starts, start), bisect_left(starts, end)
    if (first and ends[first - 1] > start) or (after and ends[after - 1] > end):
        return scan_of(low)
    gaps = gaps[:first] + gaps[after:]
    if first < len(gaps):
        gaps[first] = low[ends[first - 1] if first else 0 : starts[after]]
    words, starts = words[:first] + words[after:], starts[:first] + starts[after:]
    return Scan(low, words, starts, ends[:first] + ends[after:], gaps)
