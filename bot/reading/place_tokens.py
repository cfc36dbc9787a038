"""A text cut into tokens with the marks between them, and phrases looked up in it.

Unlike the book of phrases this keeps articles, commas and hyphens apart: "1-2 km" and "1, 2 km"
are two things. Linear in the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Set
from functools import lru_cache
from typing import Generic, NamedTuple, TypeVar

from bot.reading.scan import STRUCK, Scan, fold, scan_of

V = TypeVar("V")

# "3kmnw" holds a unit and a direction, but "3kms" does not; a single l' or d' is an article.
_GLUED = re.compile(r"(k?m)([new])|(k'?s|kms?|m)([ns][ew])")
_ELIDED = re.compile(r"([ld])'([^\W\d_]{3}.*)")
_MARKS = frozenset(",;:!?\n" + STRUCK)
_REMEMBERED = 1024
_JOINTS = frozenset("-+~=>*_'\"()[] ")


class Tokens(NamedTuple):
    """Words and numbers, column by column: folded, their stretches of the text, and the mark that
    stands before each: "" (spaces), "-" (or brackets and the like), "/", "." (a full stop, or an
    odd mark) or "," (all that ends a phrase)."""

    keys: list[str]
    starts: list[int]
    ends: list[int]
    marks: list[str]


def tokens_of(scan: Scan) -> Tokens:
    """The tokens of a scanned text, in order."""
    gaps = scan.gaps
    tokens = Tokens(list(map(fold, scan.words)), scan.starts, scan.ends, list(map(_mark, gaps)))
    quoted = [n for n, word in enumerate(scan.words) if "'" in word] if "'" in scan.low else []
    glued = [n for n, gap in enumerate(gaps) if n and not gap] if "" in gaps else []
    parted = [(at, parts) for at in {*quoted, *glued} if (parts := _parts(scan, at))]
    return _parted(tokens, parted) if parted else tokens


def _parted(tokens: Tokens, parted: list[tuple[int, tuple[str, ...]]]) -> Tokens:
    """The tokens, some words as the two that they are."""
    keys, starts, ends, marks = tokens
    keys, starts, ends, marks = keys[:], starts[:], ends[:], marks[:]
    for at, (one, two) in sorted(parted, reverse=True):
        keys[at : at + 1] = fold(one), fold(two)
        starts[at : at + 1] = starts[at], ends[at] - len(two)
        ends[at : at + 1] = starts[at] + len(one), ends[at]
        marks.insert(at + 1, "")
    return Tokens(keys, starts, ends, marks)


def _parts(scan: Scan, at: int) -> tuple[str, ...]:
    glued = at > 0 and not scan.gaps[at]
    return (glued_parts if glued else elided_parts)(scan.words[at])


def glued_parts(raw: str) -> tuple[str, ...]:
    """A unit and its direction, where what stands right behind a number holds both."""
    match = _GLUED.fullmatch(raw)
    return tuple(part for part in match.groups() if part) if match else ()


def elided_parts(raw: str) -> tuple[str, ...]:
    """An article and its word, where they are written as one."""
    match = _ELIDED.fullmatch(raw)
    return match.groups() if match else ()


@lru_cache(maxsize=_REMEMBERED)
def _mark(between: str) -> str:
    if not between:
        return ""
    if not _MARKS.isdisjoint(between):
        return ","
    mark = between.strip()
    if mark in {"", "-", "/"}:
        return mark
    return "-" if set(mark) <= _JOINTS else "."


def keys_of(phrase: str) -> tuple[str, ...]:
    """A phrase as its folded tokens."""
    return tuple(tokens_of(scan_of(phrase)).keys)


class _Branch(Generic[V]):
    __slots__ = ("next", "value")

    def __init__(self) -> None:
        self.next: dict[str, _Branch[V]] = {}
        self.value: V | None = None


class PhraseTable(Generic[V]):
    """Phrases of one to a few tokens and what each means; the longest that fits wins."""

    __slots__ = ("_root", "firsts")

    def __init__(self, rows: Iterable[tuple[str, V]]) -> None:
        self._root: _Branch[V] = _Branch()
        for phrase, value in rows:
            branch = self._root
            for key in keys_of(phrase):
                branch = branch.next.setdefault(key, _Branch())
            branch.value = value
        self.firsts: Set[str] = self._root.next.keys()
        """The tokens with which a phrase begins."""

    def at(self, tokens: Tokens, first: int, stop: int) -> tuple[int, V] | None:
        """The end of the longest phrase that starts at `first` and ends by `stop`, with what it
        means. A phrase does not run over a comma."""
        keys, _, _, marks = tokens
        branch = self._root.next.get(keys[first])
        found = None
        last = first + 1
        while branch is not None:
            if branch.value is not None:
                found = (last, branch.value)
            if last >= stop or not branch.next or marks[last] == ",":
                break
            branch = branch.next.get(keys[last])
            last += 1
        return found
