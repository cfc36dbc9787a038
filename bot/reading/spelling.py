"""Names of one to a few words, found in a text however they are spelt: a tree of words, whose
words are reached through an index of deletions.

A word of five letters may hold one slip, of eight two; short words none, everyday words none.
Linear in the text: each word costs a few look-ups, each start walks a bounded way down the tree.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from functools import lru_cache
from typing import NamedTuple

from rapidfuzz.distance import OSA

from bot.reading.place_tokens import Tokens, elided_parts, glued_parts
from bot.reading.scan import fold

_SHORTEST = 5
_TWO_SLIPS_FROM = 8
_MOST_SLIPS = 2
_MOST_FILLERS = 2
_LONGEST = 24
_REMEMBERED = 8192

_NOTHING: Mapping[str, int] = {}
_JOINTS = frozenset(("", "-"))
_APART, _WHOLE = 1, 2
"""How a name may begin with a word."""


class Hit(NamedTuple):
    """A name in the text: tokens first to last (exclusive), its rows, slips in the spelling."""

    first: int
    last: int
    rows: frozenset[int]
    slips: int


class _Node:
    __slots__ = ("next", "rows")

    def __init__(self) -> None:
        self.next: dict[str, _Node] = {}
        self.rows: set[int] = set()


class NameTree:
    """All spelt names. Rows are the caller's numbers: two rows may share a name."""

    __slots__ = (
        "_deletions",
        "_fillers",
        "_heads",
        "_may_start",
        "_meant",
        "_never",
        "_root",
        "_short",
        "_words",
        "may_begin",
    )

    def __init__(
        self,
        names: Iterable[tuple[Sequence[str], int]],
        short: Mapping[str, str],
        never: Set[str],
        fillers: Set[str],
    ) -> None:
        """`short` turns a written word into the form that names are kept under; `never` are
        words that are no slip of a name's, `fillers` those a name may be written with or without.
        """
        self._short = short
        self._root = _Node()
        self._never = never
        self._fillers = fillers
        self._words: set[str] = set()
        for words, row in names:
            node = self._root
            for word in words:
                node = node.next.setdefault(word, _Node())
                self._words.add(word)
            node.rows.add(row)
        self._heads = {word[:i] for word in self._root.next for i in range(1, len(word))}
        self._deletions = _index(self._words)
        # The words of texts repeat; a bounded store keeps what each may mean.
        self._meant = lru_cache(maxsize=_REMEMBERED)(self._mean)
        self._may_start = lru_cache(maxsize=_REMEMBERED)(self._starts)
        self.may_begin = lru_cache(maxsize=_REMEMBERED)(self._begins)
        """Whether a name may begin with a written word, or with a part of it."""

    def find(self, tokens: Tokens) -> list[Hit]:
        """The names in a text, left to right, the longest first, none overlapping."""
        short = self._short
        keys = [short.get(key, key) for key in tokens.keys]
        starts = list(map(self._may_start, keys))
        hits: list[Hit] = []
        taken = 0
        for at in [at for at, start in enumerate(starts) if start]:
            if at >= taken and (starts[at] == _WHOLE or self._joins(keys, at)):
                hit = self._walk(tokens.marks, keys, at)
                if hit:
                    hits.append(hit)
                    taken = hit.last
        return hits

    def _joins(self, keys: list[str], at: int) -> bool:
        """Whether a name's first word may be written apart here: "quil lon hut"."""
        return at + 1 < len(keys) and keys[at] + keys[at + 1] in self._root.next

    def _begins(self, raw: str) -> bool:
        keys = (fold(part) for part in (raw, *glued_parts(raw), *elided_parts(raw)))
        return any(self._starts(self._short.get(key, key)) for key in keys)

    def _starts(self, key: str) -> int:
        """Whether a name may begin with this word, or with it and the next as one."""
        if not self._root.next.keys().isdisjoint(self._meant(key)):
            return _WHOLE
        return _APART if key in self._heads else 0

    def _mean(self, key: str) -> Mapping[str, int]:
        """The words of names that a word of the text may be, with the slips each would take."""
        if key in self._words:
            return {key: 0}
        if not _SHORTEST - 1 <= len(key) <= _LONGEST or key in self._never:
            return _NOTHING
        found: dict[str, int] = {}
        for rest in _deletions(key):
            for word in self._deletions.get(rest, ()):
                if word not in found:
                    found[word] = OSA.distance(key, word)
        return {word: slips for word, slips in found.items() if slips <= _allowed(word)}

    def _walk(self, marks: Sequence[str], keys: list[str], first: int) -> Hit | None:
        """The best name that starts at `first`: the longest, then the fewest slips."""
        ends: list[Hit] = []
        ways = [(self._root, first, 0, 0)]
        while ways:
            node, at, slips, fillers = ways.pop()
            if node.rows:
                ends.append(Hit(first, at, frozenset(node.rows), slips))
            if at >= len(keys) or (at > first and marks[at] == ","):
                continue
            for word, cost in self._meant(keys[at]).items():
                if word in node.next and slips + cost <= _MOST_SLIPS:
                    ways.append((node.next[word], at + 1, slips + cost, fillers))
            if at + 1 < len(keys) and marks[at + 1] in _JOINTS:
                joined = node.next.get(keys[at] + keys[at + 1])
                if joined and slips < _MOST_SLIPS:
                    ways.append((joined, at + 2, slips + 1, fillers))
            if at > first and keys[at] in self._fillers and fillers < _MOST_FILLERS:
                ways.append((node, at + 1, slips, fillers + 1))
        return _best(ends, keys, self._fillers)


def _best(ends: list[Hit], keys: list[str], fillers: Set[str]) -> Hit | None:
    """The longest end; among equals every row that is as near, or one slip further where even
    the nearest is misspelt."""
    ends = [e for e in ends if keys[e.last - 1] not in fillers or e.last - e.first == 1]
    if not ends:
        return None
    last = max(e.last for e in ends)
    longest = [e for e in ends if e.last == last]
    least = min(e.slips for e in longest)
    near = [e for e in longest if e.slips <= least + (1 if least else 0)]
    return Hit(near[0].first, last, frozenset().union(*(e.rows for e in near)), least)


def _allowed(word: str) -> int:
    if len(word) < _SHORTEST:
        return 0
    return 2 if len(word) >= _TWO_SLIPS_FROM else 1


def _deletions(word: str) -> set[str]:
    """The word, and what is left of it with a letter (of long words: two) taken out."""
    found = {word[:i] + word[i + 1 :] for i in range(len(word))}
    if len(word) >= _TWO_SLIPS_FROM - 1:
        found |= {w[:i] + w[i + 1 :] for w in found for i in range(len(w))}
    found.add(word)
    return found


def _index(words: Iterable[str]) -> dict[str, tuple[str, ...]]:
    index: dict[str, list[str]] = {}
    for word in sorted(words):
        if word.isalpha() and _allowed(word):
            for rest in _deletions(word):
                index.setdefault(rest, []).append(word)
    return {rest: tuple(found) for rest, found in index.items()}
