"""Gives each cut of a text its letter in one language: words by the lexicon, figures by shape.

A word that is not meant as a day ("sat by the creek", "I may") is left without a letter.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from bot.reading.calendar_words import Entry, Lexicon, Phrase, Phrases
from bot.reading.date_scan import Cut
from bot.reading.pieces import Token

UNKNOWN = "_"
_NONE: Mapping[str, int | str] = {}
_FIGURES = frozenset("IJXkHEQOp1#Y49")
_SHORT_BEFORE = ("", *"k,.;XH")
_RISKY = frozenset("dmyzDsuvaln")
"""Letters of words that may turn out not to be meant; the rest are not looked at twice."""

Row = tuple[str, str, int, int, Mapping[str, int | str]]


class Labelled(NamedTuple):
    """A text in one language: its letters, and the rows that become tokens where they matter."""

    letters: str
    rows: Sequence[Row]

    def tokens(self, first: int, last: int) -> list[Token]:
        """The tokens of a stretch of letters."""
        return [Token(*row) for row in self.rows[first:last]]


def label(cuts: Sequence[Cut], lexicon: Lexicon) -> Labelled:
    """The letters of a text, one a token, and the tokens; phrases become one token."""
    rows: list[Row] = []
    phrases = lexicon.phrases
    texts = [c[1] for c in cuts]
    i, count = 0, len(cuts)
    while i < count:
        kind, text, start, end = cuts[i]
        known = phrases.get(text)
        if known is not None and kind not in _FIGURES:
            # Most words begin no phrase, and stand for themselves.
            matched = known[0] if known[0][1] == 1 else _phrase(texts, i, known)
            if matched is not None:
                _, length, entry = matched
                letter = entry.letter
                if length == 1 and letter in _RISKY and _not_meant(cuts, i, entry, lexicon):
                    letter = UNKNOWN
                i += length
                rows.append((letter, text, start, cuts[i - 1][3], entry.values))
                continue
        letter = UNKNOWN if kind == "W" else "A" if kind == "@" else kind
        rows.append((letter, text, start, end, _NONE))
        i += 1
    return Labelled("".join([row[0] for row in rows]), rows)


def _phrase(texts: list[str], at: int, known: Phrases) -> Phrase | None:
    """The longest phrase that stands here."""
    for phrase in known:
        words, length, _ = phrase
        if length == 1 or texts[at : at + length] == words:
            return phrase
    return None


def _object(cuts: Sequence[Cut], at: int, lexicon: Lexicon) -> bool:
    """Whether a word is what was shot: in "shot it sat" nothing sat."""
    known = lexicon.phrases.get(cuts[at - 1][1], ()) if at else ()
    return any(entry.letter == "K" for _, _, entry in known)


def _not_meant(cuts: Sequence[Cut], at: int, entry: Entry, lexicon: Lexicon) -> bool:
    """Whether the neighbours show that a word like "sun" is here no weekday.

    A weekday of two letters ("vi" is also "I saw") counts only before a time, a mark or the end.
    """
    word = cuts[at][1]
    kind, following, *_ = cuts[at + 1] if at + 1 < len(cuts) else ("", "")
    if entry.letter == "d" and following in lexicon.places:
        return True
    if len(word) == 2 and entry.letter == "d" and kind not in _SHORT_BEFORE:
        return True
    if word not in lexicon.not_after:
        return False
    if at and cuts[at - 1][1] in lexicon.not_after[word] and not _object(cuts, at - 1, lexicon):
        return True
    return following in lexicon.not_before[word]
