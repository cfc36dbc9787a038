"""The code of a find, in loose words: what a hunter or a member of staff reads off a card.

Characters are chosen for pencil and telephone: no vowels, so that no code spells a word; no two
that look alike (0 O D Q, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V) and few that sound alike (of M N one,
of F S one, of P T B D V one). They are 19, a prime, and the last is a check character.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

ALPHABET = "23456789CFHJKMRTWXY"
LETTERS = ALPHABET[8:]
LENGTH = 6
"""Characters of a code with its check character; a crowded programme's codes grow by one."""

RADIX = 2
"""A primitive root of 19, as ISO/IEC 7064 wants it."""

_CODE = re.compile(r"(?<![A-Z0-9])(?=([A-Z][A-Z0-9]{2})[ -]?([A-Z0-9]{3,4})(?![A-Z0-9]))")
"""Looks ahead without taking, since any word of three letters could be a code's first group."""


def check_value(values: Iterable[int], modulus: int, radix: int) -> int:
    """The value that completes a string by a pure system with one check character.

    ISO/IEC 7064:2003 section 7 (recursive method). With a prime modulus and a radix that is a
    primitive root of it, every wrong character and every two changed about are caught.
    """
    carried = 0
    for value in values:
        carried = (carried + value) * radix % modulus
    return (1 - carried) % modulus


def with_check(body: str) -> str:
    """A code's characters with their check character."""
    return body + ALPHABET[check_value(map(ALPHABET.index, body), len(ALPHABET), RADIX)]


def is_code(text: str) -> bool:
    """Whether these characters, without their dash, are a code with the right check character."""
    return (
        len(text) >= LENGTH
        and all(c in ALPHABET for c in text)
        and text[0] in LETTERS
        and not text.isalpha()
        and with_check(text[:-1]) == text
    )


def spell(text: str) -> str:
    """The code as it is written and said, in two groups: "K7R4TX" -> "K7R-4TX"."""
    return f"{text[:3]}-{text[3:]}"


def find_codes(text: str) -> tuple[str, ...]:
    """Every code that stands in a text, as it is stored ("K7R-4TX"), in order, each once.

    Case and dash do not matter; a code with one slip in it is not found.
    """
    joined = ("".join(m.groups()) for m in _CODE.finditer(text.upper()))
    return tuple(dict.fromkeys(spell(code) for code in joined if is_code(code)))
