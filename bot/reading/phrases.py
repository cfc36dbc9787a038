"""A book of phrases and the one pass that finds them in a text.

A text is cut into tokens once; every phrase is then a dictionary look-up of one to a few tokens,
the longest first, so that "dead when we got there" wins over "dead". Articles are dropped on both
sides, so that one phrase serves "in the freezer" and "in freezer". Linear in the text.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import NamedTuple

from bot.reading.page import STRUCK, Page
from bot.reading.typos import Typos

# Splitting by one group gives what stands between and the words, turn about: far cheaper than a
# match object for each. Most texts are ASCII without an apostrophe, and small classes of letters
# and plain runs are faster to match.
_SPLIT = re.compile(r"([^\W\d_]+(?:'[^\W\d_]+)*'?|\d+(?:[.,]\d+)?)")
_PLAIN_SPLIT = re.compile(r"([a-z]+|[0-9]+(?:[.,][0-9]+)?)")
_WRITTEN = re.compile(r"[^\W_]+(?:'[^\W\d_]+)*'?")
_REMEMBERED = 8192
"""Words of texts whose tokens are kept: they repeat, and the store must not grow."""

_GROUP = re.compile(r"\(([^()]*)\)")

# French elision is a word of its own ("l'oreille"); an English apostrophe is not ("don't"). The
# elided article goes the way of all articles.
_ELIDED = re.compile(r"^(qu|[cdjlmnst])'(?=[^\W\d_]{2})")

_FOLD = str.maketrans("áàâäãåçéèêëíìîïñóòôöõúùûüýÿāēīōū", "aaaaaaceeeeiiiinooooouuuuyyaeiou")
# "We're" is not "were": one tells of people, the other of anything.
_KEPT_APART = {"we're": "weare"}

_FOLDS = {"œ": "oe", "æ": "ae", "ß": "ss"}

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
def fold(word: str) -> str:
    """A word as the book keeps it: small letters, no accents, no apostrophes."""
    word = word.lower()
    if "'" in word:
        word = _KEPT_APART.get(word) or word.replace("'", "")
    if word.isascii():
        return word
    for odd, plain in _FOLDS.items():
        word = word.replace(odd, plain)
    return word.translate(_FOLD)


@lru_cache(maxsize=_REMEMBERED)
def _pieces(raw: str) -> tuple[str, ...]:
    """The folded tokens of one written word, articles left out: "l'oreille" gives one."""
    elided = _ELIDED.match(raw.lower()) if "'" in raw else None
    if elided is None:
        words = [fold(raw)]
    else:
        words = [fold(raw[: elided.end()]), fold(raw[elided.end() :])]
        if raw[0] in "lLdD":
            del words[0]
    return tuple(word for word in words if word and word not in ARTICLES)


class Token(NamedTuple):
    """One word or number: folded, with its stretch of the text, and what stands before it."""

    word: str
    start: int
    end: int
    before: str = ""


# What Token._make does, without a call of Python's own for each word of each text.
_token: Callable[[tuple[str, int, int, str]], Token] = partial(tuple.__new__, Token)
_hit: Callable[[tuple[int, int, Meaning]], Hit] = partial(tuple.__new__, Hit)


def tokens_of(page: Page) -> list[Token]:
    """The words of what is left of a page. `before` is the strongest boundary since the last."""
    left = page.left
    if "\n" in page.text:
        left = "".join("\n" if t == "\n" else c for c, t in zip(left, page.text, strict=False))
    low = left.lower()
    # A few letters grow when they are made small; the stretches must stay those of the text.
    split = (_PLAIN_SPLIT if low.isascii() and "'" not in low else _SPLIT).split(
        low if len(low) == len(left) else left
    )
    ends = list(itertools.accumulate(map(len, split)))
    rows: list[tuple[str, int, int, str]] = []
    before = ""
    marks, words = map(_boundary, split[::2]), map(_pieces, split[1::2])
    for mark, pieces, start, end in zip(marks, words, ends[::2], ends[1::2], strict=False):
        # Where an article is left out, the stronger boundary holds.
        before = mark if mark > before else before
        for word in pieces:
            rows.append((word, start, end, before))
            before = ""
    return list(map(_token, rows))


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
    return " ".join([piece for raw in _WRITTEN.findall(phrase) for piece in _pieces(raw)])


@dataclass(frozen=True, slots=True)
class Book:
    """All phrases of all languages. By first token: `longest` is the most tokens of any of its
    phrases, `second` the tokens that may come next."""

    phrases: Mapping[str, Meaning]
    longest: Mapping[str, int]
    second: Mapping[str, frozenset[str]]
    typos: Typos

    def hits(self, tokens: list[Token]) -> list[Hit]:
        """The phrases in a text, left to right, longest first, none overlapping."""
        words = self.typos.mend_all([token.word for token in tokens])
        hits: list[Hit] = []
        at, count = 0, len(words)
        while at < count:
            longest = self.longest.get(words[at])
            hit = self._at(words, tokens, at, longest) if longest else None
            if hit is None:
                at += 1
            else:
                hits.append(hit)
                at = hit.last
        return hits

    def _at(self, words: list[str], tokens: list[Token], at: int, longest: int) -> Hit | None:
        """The longest phrase that starts at a token and runs over no boundary."""
        key, found = words[at], self.phrases.get(words[at])
        last = at + 1
        if longest == 1 or last == len(words) or words[last] not in self.second[key]:
            return _hit((at, last, found)) if found else None
        for end in range(at + 1, min(at + longest, len(words))):
            if tokens[end].before:
                break
            key = f"{key} {words[end]}"
            meaning = self.phrases.get(key)
            if meaning is not None:
                found, last = meaning, end + 1
        return _hit((at, last, found)) if found else None


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
    return Book(
        {key: meanings[terms] for key, terms in phrases.items()},
        longest,
        {first: frozenset(rest) for first, rest in second.items()},
        Typos(known, meant, {fold(word) for word in not_typos}),
    )
