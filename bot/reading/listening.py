"""One text's tokens and phrases, found once and shared by the readers of animals, signs, answers.

What an everyday word of the text's own language is, a foreign phrase may not claim ("main" is a
hand in French and a road in English).
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from bot.reading.language import language_of
from bot.reading.page import Page
from bot.reading.phrases import Hit, Term, Token, tokens_of
from bot.reading.words import Words

NUMBER_LIMIT = 99


class Listening(Struct, frozen=True):
    """The tokens of what is left of a page, the phrases in them, and the text's language."""

    page: Page
    words: Words
    tokens: list[Token]
    hits: list[Hit]
    language: str
    kinds: dict[str, list[tuple[Hit, Term]]]

    def stretch(self, first: int, last: int) -> tuple[int, int]:
        """The characters from token `first` to before token `last`."""
        return self.tokens[first].start, self.tokens[last - 1].end

    def heard(self, first: int, last: int) -> str:
        """The hunter's own words from token `first` to before token `last`."""
        return self.page.heard(*self.stretch(first, last))

    def of(self, kind: str) -> list[tuple[Hit, Term]]:
        """Every phrase of one kind, in the order of the text."""
        return self.kinds.get(kind, [])

    def number(self, at: int) -> int | None:
        """The count that a token writes in figures or words; None for everything else."""
        word = self.tokens[at].word
        if word.isdecimal() and word.isascii() and len(word) <= 2:
            return int(word)
        return self.words.numbers.get(word)


def listen(page: Page, words: Words) -> Listening:
    """Cut what is left of a page into tokens and find every phrase in it."""
    known = words.known
    tokens = tokens_of(page, lambda raw: known(raw).pieces)
    language = language_of([known(raw).everyday_in for raw in page.whole.words])
    hits = words.book.hits(tokens)
    if language:
        hits = list(_at_home(hits, tokens, language, words.common[language]))
    kinds: dict[str, list[tuple[Hit, Term]]] = {}
    for hit in hits:
        for kind, term in hit.meaning.kinds.items():
            kinds.setdefault(kind, []).append((hit, term))
    return Listening(page, words, tokens, hits, language, kinds)


def _at_home(
    hits: list[Hit], tokens: list[Token], language: str, common: frozenset[str]
) -> Iterator[Hit]:
    """The hits without what a foreign language reads into the text's own everyday words."""
    for hit in hits:
        own = hit.meaning.own.get(language)
        if own is hit.meaning:
            yield hit
        elif own is not None:
            yield hit._replace(meaning=own)
        elif hit.last - hit.first > 1 or tokens[hit.first].word not in common:
            yield hit
