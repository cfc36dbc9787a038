"""Gives each cut of a text its letter in one language: words by the lexicon, figures by shape.

A word that is not meant as a day ("sat by the creek", "I may") is left without a letter.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from bot.reading.calendar_words import Entry, Lexicon, Opening, Phrase
from bot.reading.date_scan import WORD, Cut
from bot.reading.pieces import Token

_FIGURES = frozenset("IJXkHEQOp1#Y49")
_SHORT_BEFORE = ("", *"k,.;XH")
_RISKY = frozenset("dmyzDsuvaln")
"""Letters of words that may turn out not to be meant; the rest are not looked at twice."""


_UNTIL = re.compile("(?<=[k1#])F(?=[k1#])")
"""A word like "till" between two times, which is elsewhere said of what is to come."""

_token: Callable[[Cut], Token] = partial(tuple.__new__, Token)


class Labelled(NamedTuple):
    """A text in one language: its letters, and the rows that become tokens where they matter.
    A row is a cut, with its letter for its kind and what it means for its values."""

    letters: str
    rows: Sequence[Cut]

    def tokens(self, first: int, last: int) -> list[Token]:
        """The tokens of a stretch of letters."""
        return list(map(_token, self.rows[first:last]))


def label(cuts: Sequence[Cut], lexicon: Lexicon) -> Labelled:
    """The letters of a text, one a token, and the tokens; phrases become one token."""
    rows: list[Cut] = []
    texts = [c[1] for c in cuts]
    done, last = 0, len(texts) - 1
    for i, known in enumerate(map(lexicon.phrases.get, texts)):
        if i < done:
            continue
        row = cuts[i]
        if known is not None and (row[0] not in _FIGURES or _begins_word(cuts, i, known)):
            # Most words begin no phrase of several, and stand for themselves.
            matched = known.alone
            if i < last and texts[i + 1] in known.second:
                matched = _phrase(texts, i, known.phrases)
            if matched is not None:
                _, length, entry = matched
                letter = entry.letter
                if length == 1 and letter in _RISKY and _not_meant(cuts, i, entry, lexicon):
                    letter = WORD
                done = i + length
                row = (letter, row[1], row[2], cuts[done - 1][3], entry.values)
        rows.append(row)
    letters = "".join([row[0] for row in rows])
    if "F" in letters:
        for m in _UNTIL.finditer(letters):  # "from 7am till 9am"
            at = m.start()
            rows[at] = ("-", *rows[at][1:])
        letters = _UNTIL.sub("-", letters)
    return Labelled(letters, rows)


def _begins_word(cuts: Sequence[Cut], at: int, known: Opening) -> bool:
    """Whether a figure is part of a word: "2day", but not "2 day"; and "1st light"."""
    if at + 1 == len(cuts) or cuts[at + 1][1] not in known.second:
        return False
    return cuts[at][0] == "O" or cuts[at][3] == cuts[at + 1][2]


def _phrase(texts: list[str], at: int, known: Sequence[Phrase]) -> Phrase | None:
    """The longest phrase that stands here."""
    for phrase in known:
        words, length, _ = phrase
        if length == 1 or texts[at : at + length] == words:
            return phrase
    return None


def _object(cuts: Sequence[Cut], at: int, lexicon: Lexicon) -> bool:
    """Whether a word is what was shot: in "shot it sat" nothing sat."""
    known = lexicon.phrases.get(cuts[at - 1][1]) if at else None
    this = lexicon.phrases.get(cuts[at][1])
    if this is not None and this.alone is not None and this.alone[2].letter == "i":
        return False  # "taken in am"
    return known is not None and any(entry.letter == "K" for _, _, entry in known.phrases)


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
