"""The language of a text, told by its everyday words; "" where they do not decide."""

from __future__ import annotations

import re

from bot.reading.phrases import fold
from bot.reading.words import Words

_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")
_PLAIN_WORD = re.compile(r"[a-z]+")
"""Of a text in ASCII without an apostrophe, as most are: far faster to find."""

_ENOUGH = 2
"""Everyday words by which the first language must be known, unless no other has any."""


def language_of(text: str, words: Words) -> str:
    """The code of the language a text is in ("en"), or "" where it cannot be told.

    Words that two languages share count for both, so that they decide nothing.
    """
    low = text.lower()
    if low.isascii() and "'" not in low:
        found = _PLAIN_WORD.findall(low)
    else:
        found = list(map(fold, _WORD.findall(low)))
    found = list(filter(words.everyday.__contains__, found))
    scores = sorted(
        ((sum(map(common.__contains__, found)), code) for code, common in words.common.items()),
        reverse=True,
    )
    if not scores or not scores[0][0]:
        return ""
    best = scores[0]
    second = scores[1][0] if len(scores) > 1 else 0
    if best[0] > second and (best[0] >= _ENOUGH or not second):
        return best[1]
    return ""
