"""A text cut into tokens with the marks between them, and phrases looked up in it.

Unlike the book of phrases this keeps articles, commas and hyphens apart: "1-2 km" and "1, 2 km"
are two things. Linear in the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Generic, NamedTuple, TypeVar

from bot.reading.page import STRUCK
from bot.reading.phrases import fold

V = TypeVar("V")

_TAIL = r"|\d+(?:[.,]\d+)?|[½¼¾@&]"
_TOKEN = re.compile(r"[^\W\d_½¼¾]+(?:'[^\W\d_½¼¾]+)*" + _TAIL)
_PLAIN_TOKEN = re.compile(r"[a-z]+(?:'[a-z]+)*" + _TAIL)

# "3kmnw" holds a unit and a direction, but "3kms" does not; a single l' or d' is an article.
_GLUED = re.compile(r"(k?m)([new])|(k'?s|kms?|m)([ns][ew])")
_ELIDED = re.compile(r"([ld])'([^\W\d_]{3}.*)")
_MARKS = frozenset(",;:!?\n" + STRUCK)
_JOINTS = frozenset("-+~=>*_'\"()[] ")


class Token(NamedTuple):
    """A word or number: folded, its stretch of the text, and the mark that stands before it:
    "" (spaces), "-" (or brackets and the like), "/", "." (a full stop, or an odd mark) or ","
    (all that ends a phrase)."""

    key: str
    start: int
    end: int
    mark: str


def tokens_of(text: str) -> list[Token]:
    """Cut what is left of a page into tokens, in order."""
    low = text.lower()
    if len(low) != len(text):  # A few letters grow when made small ("\u0130"); stretches may not.
        low = "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
    plain = low.isascii()
    tokens: list[Token] = []
    last = 0
    for match in (_PLAIN_TOKEN if plain else _TOKEN).finditer(low):
        start, end = match.span()
        raw = match.group()
        between = low[last:start]
        mark = "" if between == " " else _mark(between)
        odd = "'" in raw or not between
        if odd and (parts := _parts(raw, bool(tokens) and not between)):
            tokens.append(Token(fold(parts[0]), start, start + len(parts[0]), mark))
            raw, start, mark = parts[1], end - len(parts[1]), ""
        tokens.append(Token(raw if plain and not odd else fold(raw), start, end, mark))
        last = end
    return tokens


def _parts(raw: str, glued: bool) -> tuple[str, ...]:
    """The two words in one: a unit with its direction right after a number, or an article."""
    match = _GLUED.fullmatch(raw) if glued else _ELIDED.fullmatch(raw)
    return tuple(part for part in match.groups() if part) if match else ()


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
    return tuple(token.key for token in tokens_of(phrase))


class _Branch(Generic[V]):
    __slots__ = ("next", "value")

    def __init__(self) -> None:
        self.next: dict[str, _Branch[V]] = {}
        self.value: V | None = None


class PhraseTable(Generic[V]):
    """Phrases of one to a few tokens and what each means; the longest that fits wins."""

    __slots__ = ("_root",)

    def __init__(self, rows: Iterable[tuple[str, V]]) -> None:
        self._root: _Branch[V] = _Branch()
        for phrase, value in rows:
            branch = self._root
            for key in keys_of(phrase):
                branch = branch.next.setdefault(key, _Branch())
            branch.value = value

    def at(self, tokens: Sequence[Token], first: int, stop: int) -> tuple[int, V] | None:
        """The end of the longest phrase that starts at `first` and ends by `stop`, with what it
        means. A phrase does not run over a comma."""
        branch = self._root.next.get(tokens[first].key)
        found = None
        last = first + 1
        while branch is not None:
            if branch.value is not None:
                found = (last, branch.value)
            if last >= stop or not branch.next or tokens[last].mark == ",":
                break
            branch = branch.next.get(tokens[last].key)
            last += 1
        return found
