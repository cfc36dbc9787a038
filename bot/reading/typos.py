"""Typing errors: a word nobody knows becomes the one known word a slip away, or stays.

An index of deletions finds the candidates in a few look-ups; rapidfuzz measures them. The floor is
strict, since a wrong mend invents a sign: five letters and more, the same first letter, no letter
exchanged for another in words under eight ("lamps" is not "lumps"), two slips only from ten letters
on, and no everyday word at all. Words that matter alone are mended, never the words around them.
"""

from __future__ import annotations

from collections.abc import Iterable

from rapidfuzz.distance import OSA

_SHORTEST = 5
_EXCHANGED_FROM = 8
_TWO_SLIPS_FROM = 10


def _deletions(word: str, slips: int) -> set[str]:
    """The word, and what is left of it with one letter (or two) taken out."""
    found = {word}
    ring = {word}
    for _ in range(slips):
        ring = {w[:i] + w[i + 1 :] for w in ring for i in range(len(w))}
        found |= ring
    return found


def _slips(word: str) -> int:
    return 2 if len(word) >= _TWO_SLIPS_FROM else 1


class Typos:
    """Mends single words to those in `meant`; what is known or in `never` stays as it is."""

    __slots__ = ("_index", "_known", "_never")

    def __init__(self, known: Iterable[str], meant: Iterable[str], never: Iterable[str]) -> None:
        self._known = frozenset(known)
        self._never = frozenset(never)
        index: dict[str, list[str]] = {}
        for word in sorted(w for w in set(meant) if len(w) >= _SHORTEST and w.isalpha()):
            for rest in _deletions(word, _slips(word)):
                index.setdefault(rest, []).append(word)
        self._index = {rest: tuple(words) for rest, words in index.items()}

    def mend(self, word: str) -> str:
        """The known word that was meant, or the word itself: "absess" gives "abscess"."""
        if len(word) < _SHORTEST or word in self._known or word in self._never:
            return word
        if len(word) > 24 or not word.isalpha():
            return word
        meant = {w: OSA.distance(word, w) for w in self._near(word) if self._is_slip(word, w)}
        if not meant:
            return word
        least = min(meant.values())
        best = [w for w, distance in meant.items() if distance == least]
        return best[0] if len(best) == 1 else word

    def _near(self, word: str) -> set[str]:
        return {w for rest in _deletions(word, _slips(word)) for w in self._index.get(rest, ())}

    @staticmethod
    def _is_slip(word: str, meant: str) -> bool:
        if word[0] != meant[0]:
            return False
        distance = OSA.distance(word, meant)
        if len(word) == len(meant) < _EXCHANGED_FROM:
            return distance == 1 and sorted(word) == sorted(meant)
        return distance <= min(_slips(word), _slips(meant))
