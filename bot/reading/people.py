"""People in a text: the number to call, and a name.

A number is kept as it was written, and must be possible for the programme's country. It is read
before the places, since nine digits with a leading zero look like a grid reference.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import phonenumbers

from bot.reading.listening import Listening
from bot.reading.page import Page
from bot.reading.phrases import COMMA, GAP, Hit
from bot.reading.values import Word

_CUE = re.compile(
    r"\b(?:call|ring|ph|phone|mob|mobile|cell|tel|number|num|text|txt|on|at|whatsapp|is|it's"
    r"|llam\w+|telefono|tel\u00e9fono|movil|m\u00f3vil|cel|numero|n\u00famero|al"
    r"|appel\w+|rappel\w+|telephone|t\u00e9l\u00e9phone|portable|num\u00e9ro|au)\b[ :.#-]{0,3}$",
    re.IGNORECASE,
)
_RUN = re.compile(r"(?<![\d.,/+-])[+(]{0,2}\d(?:[ ()-]{0,2}\d){7,14}(?![\d.,]?\d|/|\.\d)")
"""Eight figures and more with nothing but spaces, brackets and dashes between them."""

_EIGHT = re.compile(r"\d(?:[ ()-]{0,2}\d){7}")

_OPENS = ("+", "00", "0", "(0")
"""How a number begins that nobody announces."""

_PAIR = re.compile(r"\d{5,8}[ -]\d{5,8}")
"""Two long figures are an easting and a northing, not a telephone."""

_LONGEST_NAME = 3
_BARE_NAME = re.compile(r"\s*([^\W\d_][^\W\d_'.-]*(?:[ '-]+[^\W\d_]+){0,2})[.!]*\s*")


def find_phones(page: Page, country: str) -> tuple[Word, ...]:
    """Telephone numbers, struck from the page. Key and heard are the number as written."""
    found: list[Word] = []
    # Looking for the figures alone is far cheaper than looking back at every character.
    for match in _RUN.finditer(page.left) if _EIGHT.search(page.left) else ():
        start, end = match.span()
        written = match.group()
        announced = _CUE.search(page.left[max(0, start - 24) : start])
        if not announced and not written.startswith(_OPENS):
            continue
        if not _is_phone(written, country):
            continue
        page.strike(start, end)
        heard = page.heard(start, end)
        found.append(Word("phone", heard, heard, start, end))
    return tuple(found)


def _is_phone(written: str, country: str) -> bool:
    if _PAIR.fullmatch(written):
        return False
    try:
        number = phonenumbers.parse(written, country or None)
    except phonenumbers.NumberParseException:
        return False
    return phonenumbers.is_possible_number(number)


def read_names(heard: Listening, asked: str) -> Iterator[Word]:
    """A name given as one ("name's Dave", "Dave Kerr here"), or any short reply to that question.

    Where the cue alone is too weak, the name must have a capital ("I'm Dave", not "I'm lost").
    """
    for hit, term in heard.of("name_cue"):
        run = _behind(heard, hit.first) if term.key == "behind" else _after(heard, hit, term.key)
        if run is not None:
            yield _name(heard, *run)
            return
    if asked == "name" and (match := _BARE_NAME.fullmatch(heard.page.left)) is not None:
        name = match.group(1).strip()
        yield Word("name", name, name, *match.span(1))


def _after(heard: Listening, hit: Hit, cue: str) -> tuple[int, int] | None:
    """The tokens of a name that follows a cue: the first, and those with capitals after it."""
    first = hit.last
    if first >= len(heard.tokens) or heard.tokens[first].before not in ("", GAP, COMMA):
        return None
    if not heard.tokens[first].word.isalpha() or (cue == "capital" and not _capital(heard, first)):
        return None
    last = first + 1
    while last < min(first + _LONGEST_NAME, len(heard.tokens)) and _joins(heard, last):
        last += 1
    return first, last


def _behind(heard: Listening, end: int) -> tuple[int, int] | None:
    """The tokens of a name that stands before a cue: "Dave Kerr here"."""
    first = end
    while first > max(0, end - _LONGEST_NAME) and _capital(heard, first - 1):
        first -= 1
        if heard.tokens[first].before:
            break
    return (first, end) if first < end and not heard.tokens[end].before else None


def _joins(heard: Listening, at: int) -> bool:
    return not heard.tokens[at].before and _capital(heard, at)


def _capital(heard: Listening, at: int) -> bool:
    token = heard.tokens[at]
    return heard.page.text[token.start].isupper() and token.word.isalpha()


def _name(heard: Listening, first: int, last: int) -> Word:
    start, end = heard.stretch(first, last)
    name = heard.page.heard(start, end)
    return Word("name", name, name, start, end)
