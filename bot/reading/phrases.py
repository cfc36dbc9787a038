"""A book of phrases and the one pass that finds them in a text.

A text is cut into tokens once; every phrase is then a dictionary look-up of one to a few tokens,
the longest first, so that "dead when we got there" wins over "dead". Articles are dropped on both
sides, so that one phrase serves "in the freezer" and "in freezer". Linear in the text.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import NamedTuple

from bot.reading.page import Page
from bot.reading.scan import STRUCK, Scan, fold, scan_of
from bot.reading.typos import Typos

_WRITTEN = re.compile(r"[^\W_]+(?:'[^\W\d_]+)*'?")
_REMEMBERED = 8192
"""Words of texts whose tokens are kept: they repeat, and the store must not grow."""
_SIGNS = frozenset("@&")
"""Signs that a scan has as words, and the book does not."""

_GROUP = re.compile(r"\(([^()]*)\)")

# French elision is a word of its own ("l'oreille"); an English apostrophe is not ("don't"). The
# elided article goes the way of all articles.
_ELIDED = re.compile(r"^(qu|[cdjlmnst])'(?=[^\W\d_]{2})")

ARTICLES = frozenset(
    {"the", "a", "an", "el", "la", "los", "las", "un", "una", "unos", "unas", "del"}
    | {"le", "les", "une", "du", "des", "de"}
)

_ARTICLE = re.compile(rf"(?<![\w'])(?:{'|'.join(sorted(ARTICLES))}) ")

_MENDED = frozenset({"animal", "two_species", "site", "look", "storage"})
"""Kinds whose words are mended when they are mistyped."""

MOST = 4000
"""Phrases that one pattern may give: more is a slip of the pen, and slow to load."""

COMMA, STOP, GAP = ",", ".", STRUCK
"""Boundaries between words, the weakest the least character: "" < GAP < COMMA < STOP."""
_BOUNDARY = (
    dict.fromkeys(";.!\n", STOP) | dict.fromkeys(",/()", COMMA) | dict.fromkeys(":?" + STRUCK, GAP)
)


class Term(NamedTuple):
    """What one phrase means: its kind and key, the language it belongs to, and a shade."""

    kind: str
    key: str
    language: str
    shade: str = ""


class Meaning:
    """The terms of one phrase, and which of them count in a text of each language."""

    __slots__ = ("kinds", "own", "terms")

    def __init__(self, terms: tuple[Term, ...]) -> None:
        self.terms = terms
        self.kinds = {term.kind: term for term in reversed(terms)}
        languages = {term.language for term in terms}
        self.own: dict[str, Meaning] = (
            dict.fromkeys(languages, self)
            if len(languages) == 1
            else {x: Meaning(tuple(t for t in terms if t.language == x)) for x in languages}
        )


class Hit(NamedTuple):
    """A phrase that stands in the text: tokens first to last (exclusive), and what it means."""

    first: int
    last: int
    meaning: Meaning

    def of(self, kind: str) -> Term | None:
        """The hit's term of one kind, if it has one."""
        return self.meaning.kinds.get(kind)


@lru_cache(maxsize=_REMEMBERED)
def _folded(raw: str) -> tuple[str, ...]:
    """The folded words of one written word, articles left out: "l'oreille" gives one."""
    if raw in _SIGNS:
        return ()
    elided = _ELIDED.match(raw) if "'" in raw else None
    if elided is None:
        words = [fold(raw)]
    else:
        words = [fold(raw[: elided.end()]), fold(raw[elided.end() :])]
        if raw[0] in "ld":
            del words[0]
    return tuple(word for word in words if word and word not in ARTICLES)


class Opening(NamedTuple):
    """What begins with a word: the meaning of the word alone, the most tokens of any of its
    phrases, and the tokens that may come next."""

    alone: Meaning | None
    longest: int
    second: frozenset[str]


class Piece(NamedTuple):
    """A word as the book has it: folded, as it was meant, and what begins with it."""

    word: str
    meant: str
    opening: Opening | None


class Token(NamedTuple):
    """One word or number: folded, with its stretch of the text, what stands before it, what was
    meant by it, and what of the book begins with it."""

    word: str
    start: int
    end: int
    before: str
    meant: str
    opening: Opening | None


# What Token._make does, without a call of Python's own for each word of each text.
_token: Callable[[tuple[str, int, int, str, str, Opening | None]], Token]
_token = partial(tuple.__new__, Token)
_hit: Callable[[tuple[int, int, Meaning]], Hit] = partial(tuple.__new__, Hit)


def tokens_of(page: Page, pieces_of: Callable[[str], Sequence[Piece]]) -> list[Token]:
    """The words of what is left of a page. `before` is the strongest boundary since the last."""
    scan = page.scan
    if "\n" in page.text:  # The end of a line is smoothed away for all others.
        both = zip(page.left, page.text, strict=True)
        scan = scan_of("".join("\n" if t == "\n" else c for c, t in both))
    ends = _with_apostrophes(scan) if "'" in scan.low else scan.ends
    tokens: list[Token] = []
    before = ""
    marks, words = map(_boundary, scan.gaps), map(pieces_of, scan.words)
    for mark, pieces, start, end in zip(marks, words, scan.starts, ends, strict=True):
        # Where an article is left out, the stronger boundary holds.
        before = mark if mark > before else before
        for word, meant, opening in pieces:
            tokens.append(_token((word, start, end, before, meant, opening)))
            before = ""
    return tokens


def _with_apostrophes(scan: Scan) -> list[int]:
    """The ends of words, each with the apostrophe that closes it: "the dogs' feet"."""
    low = scan.low
    return [
        end + (low[end : end + 1] == "'" and not word[0].isdigit())
        for word, end in zip(scan.words, scan.ends, strict=True)
    ]


@lru_cache(maxsize=_REMEMBERED)
def _boundary(between: str) -> str:
    """The strongest boundary among the marks between two words: the greatest character."""
    return max((_BOUNDARY.get(mark, "") for mark in between), default="")


def _options(group: str) -> list[str]:
    """The alternatives of a group; those that differ only by an article are one."""
    return list(dict.fromkeys(_ARTICLE.sub("", option) for option in group.split("|")))


def spread(pattern: str) -> Iterator[str]:
    """Every phrase of a pattern: "in (the|my) freezer(s|)" gives four; ValueError if it is none.

    A group stands in no other group, and no pattern gives more than MOST phrases.
    """
    parts = _GROUP.split(pattern)
    choices = [_options(p) if n % 2 else [p] for n, p in enumerate(parts)]
    if ")?" in pattern or any(mark in part for part in parts[::2] for mark in "()|"):
        raise ValueError(f"{pattern!r}: a group is not closed, or stands in another")
    if math.prod(map(len, choices)) > MOST:
        raise ValueError(f"{pattern!r}: gives more than {MOST} phrases")
    for combination in itertools.product(*choices):
        yield " ".join("".join(combination).split())


def phrase_key(phrase: str) -> str:
    """A phrase as the book keeps it: folded words, articles left out."""
    if phrase.replace(" ", "").isalnum():  # nearly all of them, and far quicker so
        return " ".join([word for word in map(fold, phrase.split()) if word not in ARTICLES])
    return " ".join([piece for raw in _WRITTEN.findall(phrase.lower()) for piece in _folded(raw)])


@dataclass(frozen=True, slots=True)
class Book:
    """All phrases of all languages, and what begins with each of their first tokens."""

    phrases: Mapping[str, Meaning]
    openings: Mapping[str, Opening]
    typos: Typos

    def pieces(self, raw: str) -> tuple[Piece, ...]:
        """One written word of small letters as the book has it: none, one or two pieces."""
        meant = [(word, self.typos.mend(word)) for word in _folded(raw)]
        return tuple(Piece(word, known, self.openings.get(known)) for word, known in meant)

    def hits(self, tokens: list[Token]) -> list[Hit]:
        """The phrases in a text, left to right, longest first, none overlapping."""
        hits: list[Hit] = []
        done, count = 0, len(tokens)
        for at, (_, _, _, _, meant, opening) in enumerate(tokens):
            if opening is None or at < done:
                continue
            found, longest, second = opening
            last = at + 1
            if longest > 1 and last < count and tokens[last].meant in second:
                stop = min(at + longest, count)
                found, last = self._longest(tokens, meant, found, range(last, stop))
            if found is not None:
                hits.append(_hit((at, last, found)))
                done = last
        return hits

    def _longest(
        self, tokens: list[Token], key: str, found: Meaning | None, rest: range
    ) -> tuple[Meaning | None, int]:
        """The longest phrase that goes on from a first token and runs over no boundary."""
        last = rest.start
        for at in rest:
            token = tokens[at]
            if token.before:
                break
            key = f"{key} {token.meant}"
            meaning = self.phrases.get(key)
            if meaning is not None:
                found, last = meaning, at + 1
        return found, last


def make_book(entries: Iterable[tuple[str, Term]], not_typos: Iterable[str]) -> Book:
    """The book of (phrase, term) pairs. `not_typos` are words that are never mended."""
    phrases: dict[str, tuple[Term, ...]] = {}
    longest: dict[str, int] = {}
    second: dict[str, set[str]] = {}
    known: set[str] = set()
    meant: set[str] = set()
    for phrase, term in entries:
        key = phrase_key(phrase)
        if not key:
            continue
        words = key.split(" ")
        if term.kind in _MENDED:
            meant.update(words)
        terms = phrases.get(key)
        if terms is None:
            known.update(words)
            longest[words[0]] = max(longest.get(words[0], 0), len(words))
            second.setdefault(words[0], set()).update(words[1:2])
            phrases[key] = (term,)
        elif term not in terms:
            phrases[key] = (*terms, term)
    meanings = {terms: Meaning(terms) for terms in set(phrases.values())}
    every = {key: meanings[terms] for key, terms in phrases.items()}
    return Book(
        every,
        {x: Opening(every.get(x), longest[x], frozenset(second[x])) for x in longest},
        Typos(known, meant, {fold(word) for word in not_typos}),
    )
