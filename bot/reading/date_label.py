"""Gives each cut of a text its letter in one language: words by the lexicon, figures by shape.

A word that is not meant as a day ("sat by the creek", "I may") is left without a letter.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bot.reading.calendar_words import Entry, Lexicon
from bot.reading.date_scan import Cut
from bot.reading.pieces import Token

UNKNOWN = "_"
_NONE: Mapping[str, int | str] = {}
_FIGURES = frozenset("IJXkHEOp1#Y49")


def label(cuts: Sequence[Cut], lexicon: Lexicon) -> tuple[str, list[Token]]:
    """The letters of a text, one a token, and the tokens; phrases become one token."""
    tokens: list[Token] = []
    phrases = lexicon.phrases
    i, count = 0, len(cuts)
    while i < count:
        kind, text, start, end = cuts[i]
        known = phrases.get(text)
        if known is not None and kind not in _FIGURES:
            matched = _phrase(cuts, i, known)
            if matched is not None:
                length, entry = matched
                letter = entry.letter
                if length == 1 and _not_meant(cuts, i, entry, lexicon):
                    letter = UNKNOWN
                i += length
                tokens.append(Token(letter, text, start, cuts[i - 1].end, entry.values))
                continue
        letter = UNKNOWN if kind == "W" else "A" if kind == "@" else kind
        tokens.append(Token(letter, text, start, end, _NONE))
        i += 1
    return "".join([t.letter for t in tokens]), tokens


def _phrase(
    cuts: Sequence[Cut], at: int, known: Sequence[tuple[tuple[str, ...], Entry]]
) -> tuple[int, Entry] | None:
    """The longest phrase that stands here, and how many cuts it takes."""
    for words, entry in known:
        length = len(words)
        if length == 1 or tuple(c.text for c in cuts[at : at + length]) == words:
            return length, entry
    return None


def _not_meant(cuts: Sequence[Cut], at: int, entry: Entry, lexicon: Lexicon) -> bool:
    """Whether the neighbours show that a word like "sun" is here no weekday.

    A weekday of two letters ("vi" is also "I saw") counts only before a time, a mark or the end.
    """
    word = cuts[at].text
    following = cuts[at + 1] if at + 1 < len(cuts) else None
    if len(word) == 2 and entry.letter == "d" and following and following.kind not in "k,.;XH":
        return True
    if word not in lexicon.not_after:
        return False
    if at and cuts[at - 1].text in lexicon.not_after[word]:
        return True
    return following is not None and following.text in lexicon.not_before[word]


def tells(cuts: Sequence[Cut], lexicon: Lexicon) -> int:
    """How many words of a text show this language."""
    return sum([c.text in lexicon.tells for c in cuts])
