"""A text cut into tokens with the marks between them, and phrases looked up in it.

Unlike the book of phrases this keeps articles, commas and hyphens apart: "1-2 km" and "1, 2 km"
are two things. Linear in the text.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence, Set
from functools import lru_cache, partial
from itertools import accumulate
from operator import attrgetter
from typing import Generic, NamedTuple, TypeVar

from bot.reading.page import STRUCK, Page
from bot.reading.phrases import fold

V = TypeVar("V")

# Splitting by one group gives what stands between and the tokens, turn about: far cheaper than a
# match object for each. Most texts are ASCII without an apostrophe, and small classes of letters
# and plain runs are faster to match.
_TAIL = r"|\d+(?:[.,]\d+)?|[½¼¾@&])"
_SPLIT = re.compile(r"([^\W\d_½¼¾]+(?:'[^\W\d_½¼¾]+)*" + _TAIL)
_PLAIN_SPLIT = re.compile(r"([a-z]+|[0-9]+(?:[.,][0-9]+)?|[@&])")

# "3kmnw" holds a unit and a direction, but "3kms" does not; a single l' or d' is an article.
_GLUED = re.compile(r"(k?m)([new])|(k'?s|kms?|m)([ns][ew])")
_ELIDED = re.compile(r"([ld])'([^\W\d_]{3}.*)")
_MARKS = frozenset(",;:!?\n" + STRUCK)
_REMEMBERED = 1024
_STRUCK_RUN = re.compile(f"{STRUCK}+")
_start = attrgetter("start")
_JOINTS = frozenset("-+~=>*_'\"()[] ")


class Token(NamedTuple):
    """A word or number: folded, its stretch of the text, and the mark that stands before it:
    "" (spaces), "-" (or brackets and the like), "/", "." (a full stop, or an odd mark) or ","
    (all that ends a phrase)."""

    key: str
    start: int
    end: int
    mark: str


# What Token._make does, without a call of Python's own for each word of each text.
_token: Callable[[tuple[str, int, int, str]], Token] = partial(tuple.__new__, Token)


def tokens_of(text: str) -> list[Token]:
    """Cut a text into tokens, in order."""
    low = text.lower()
    if len(low) != len(text):  # A few letters grow when made small ("\u0130"); stretches may not.
        low = "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
    plain = "'" not in low
    split = (_PLAIN_SPLIT if plain and low.isascii() else _SPLIT).split(low)
    ends = list(accumulate(map(len, split)))
    marks = map(_mark, split[::2])
    if plain and "" not in split[2:-1:2]:
        rows = zip(map(fold, split[1::2]), ends[::2], ends[1::2], marks, strict=False)
        return list(map(_token, rows))
    tokens: list[Token] = []
    for between, raw, start, end in zip(
        split[::2], split[1::2], ends[::2], ends[1::2], strict=False
    ):
        mark = "" if between == " " else _mark(between)
        if "'" in raw or not between:
            if parts := _parts(raw, bool(tokens) and not between):
                tokens.append(Token(fold(parts[0]), start, start + len(parts[0]), mark))
                raw, start, mark = parts[1], end - len(parts[1]), ""
            raw = fold(raw)
        tokens.append(Token(raw if raw.isascii() else fold(raw), start, end, mark))
    return tokens


def all_tokens(page: Page) -> list[Token]:
    """The tokens of a whole page, struck or not; cut once and kept for the next reader."""
    if page.tokens is None:
        page.tokens = tokens_of(page.plain)
    return page.tokens


def tokens_left(page: Page) -> list[Token]:
    """The tokens of what is left of a page: those of the whole that no strike has touched.

    Where a strike ends inside a token or right before one, what is left is cut up anew.
    """
    whole = all_tokens(page)
    if page.left == page.plain:
        return whole
    kept: list[Token] = []
    done, struck = 0, False
    for run in _STRUCK_RUN.finditer(page.left):
        start, end = run.span()
        first, after = bisect_left(whole, start, key=_start), bisect_left(whole, end, key=_start)
        if (first and whole[first - 1].end > start) or (after and whole[after - 1].end > end):
            return tokens_of(page.left)
        if after < len(whole) and whole[after].start == end:
            return tokens_of(page.left)
        kept += _part(whole[done:first], struck)
        done, struck = after, True
    return kept + _part(whole[done:], struck)


def _part(tokens: list[Token], after_strike: bool) -> list[Token]:
    """The tokens, the first with the mark that a struck stretch before it gives."""
    if tokens and after_strike:
        tokens[0] = tokens[0]._replace(mark=",")
    return tokens


def _parts(raw: str, glued: bool) -> tuple[str, ...]:
    """The two words in one: a unit with its direction right after a number, or an article."""
    match = _GLUED.fullmatch(raw) if glued else _ELIDED.fullmatch(raw)
    return tuple(part for part in match.groups() if part) if match else ()


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
    return tuple(token.key for token in tokens_of(phrase))


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

    def at(self, tokens: Sequence[Token], first: int, stop: int) -> tuple[int, V] | None:
        """The end of the longest phrase that starts at `first` and ends by `stop`, with what it
        means. A phrase does not run over a comma."""
        branch = self._root.next.get(tokens[first].key)
        if branch is None:
            return None
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
