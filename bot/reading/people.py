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
from bot.reading.values import Word

_CUE = (
    r"(?:call|ring|ph|phone|mob|mobile|cell|tel|number|num|text|txt|me on|whatsapp"
    r"|llam\w+|telefono|movil|cel|numero|appel\w+|appelle\w*|telephone|portable|num\u00e9ro)"
)
_DIGITS = r"\+?\(?\d(?:[ ()-]{0,2}\d){5,14}"
_CUED = re.compile(rf"\b{_CUE}\b[^\d+.;]{{0,24}}({_DIGITS})(?![\d.,/]?\d)", re.IGNORECASE)
_PLAIN = re.compile(r"(?<![\d.,/+-])((?:\+|00|0)\(?\d(?:[ ()-]{0,2}\d){7,13})(?![\d./,]?\d|/)")
_LEAST = 8
_PAIR = re.compile(r"\d{5,8}[ -]\d{5,8}")
"""Two long figures are an easting and a northing, not a telephone."""

_NAME = re.compile(
    r"(?:\bmy name'?s?(?: is)?|\bname(?:'s| is|s|:)|\bit'?s(?= [^\W\d_]+(?: [^\W\d_]+)? here\b)"
    r"|\bthis is(?= [A-Z])|\bi'?m(?= [A-Z])|\bi am(?= [A-Z])|\bcheers,|\bregards,?|\bask for"
    r"|\bme llamo|\bmi nombre es|\bsoy(?= [A-Z])|\bje m'appelle|\bmon nom est|\bje suis(?= [A-Z]))"
    r"\s*((?-i:[^\W\d_])[^\W\d_'-]*(?:['-][^\W\d_]+)?(?: (?-i:[A-Z])[^\W\d_'-]*(?:['-][^\W\d_]+)?){0,2})",
    re.IGNORECASE,
)
_BARE_NAME = re.compile(r"\s*([^\W\d_][^\W\d_'.-]*(?:[ '-]+[^\W\d_]+\.?){0,2})[.!]?\s*")


def find_phones(page: Page, country: str) -> tuple[Word, ...]:
    """Telephone numbers, struck from the page. Key and heard are the number as written."""
    found = []
    for match in [*_CUED.finditer(page.left), *_PLAIN.finditer(page.left)]:
        start, end = match.span(1)
        if "\x00" in page.left[start:end] or not _is_phone(match.group(1), country):
            continue
        page.strike(start, end)
        heard = page.heard(start, end)
        found.append(Word("phone", heard, heard, start, end))
    return tuple(found)


def _is_phone(written: str, country: str) -> bool:
    digits = sum(c.isdigit() for c in written)
    if digits < _LEAST or _PAIR.fullmatch(written):
        return False
    try:
        number = phonenumbers.parse(written, country or None)
    except phonenumbers.NumberParseException:
        return False
    return phonenumbers.is_possible_number(number)


def read_names(heard: Listening, asked: str) -> Iterator[Word]:
    """A name that is given as one ("name's Dave"), or any short bare answer to that question."""
    match = _NAME.search(heard.page.left)
    if match is None and asked == "name":
        match = _BARE_NAME.fullmatch(heard.page.left)
    if match is None:
        return
    name = match.group(1).strip()
    if name.lower() in _NOT_NAMES:
        return
    start, end = match.span(1)
    yield Word("name", name, heard.page.heard(start, end), start, end)


_NOT_NAMES = frozenset(
    {"not", "dead", "lost", "ok", "okay", "the", "a", "an", "in", "on", "at", "it", "just"}
    | {"still", "stuck", "here", "there", "no", "yes"}
)
