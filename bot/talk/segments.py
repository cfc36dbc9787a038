"""What a text costs: SMS segments by alphabet, and packing whole sentences into texts.

Alphabet: 3GPP TS 23.038 section 6.2.1 (default alphabet and its extension table). Lengths:
3GPP TS 23.040 (160 or 153 septets, 70 or 67 UCS-2 units, for a header with 8-bit reference).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENDED = frozenset("\f^{}\\[~]|€")
_GSM7 = BASIC | EXTENDED
MOST_SEGMENTS = 2


def is_gsm7(text: str) -> bool:
    """Whether every character stands in the default alphabet or its extension."""
    return _GSM7.issuperset(text)


def outside_gsm7(text: str) -> str:
    """The characters that force a text into UCS-2, each once, in order."""
    return "".join(dict.fromkeys(c for c in text if c not in BASIC and c not in EXTENDED))


_SPELT = str.maketrans(
    {"‘": "'", "’": "'", "“": '"', "”": '"', "–": "-", "—": "-", "…": "...", "°": " deg", "œ": "oe"}
)


def spell_for_sms(text: str) -> str:
    """The same words in GSM-7 where dropping an accent is enough: "murió" becomes "murio".

    Letters that have no plainer form (another script, a picture) are kept, at UCS-2's price.
    """
    if is_gsm7(text):
        return text
    return "".join(c if is_gsm7(c) else _plainer(c) for c in text.translate(_SPELT))


def _plainer(character: str) -> str:
    bare = "".join(
        c for c in unicodedata.normalize("NFD", character) if not unicodedata.combining(c)
    )
    return bare if bare and is_gsm7(bare) else character


def units_of(text: str) -> int:
    """Septets in GSM-7 (an extended character takes two), else UTF-16 code units."""
    if is_gsm7(text):
        return len(text) + sum(map(text.count, EXTENDED))
    return len(text.encode("utf-16-be")) // 2


def segments_of(text: str) -> int:
    """How many billed parts a text takes; an empty one takes one.

    A pair (escape and character, or two surrogates) is never split between parts, so a part may
    hold one unit fewer (TS 23.040, 9.2.3.24.1).
    """
    gsm7 = is_gsm7(text)
    single, part = (160, 153) if gsm7 else (70, 67)
    units = units_of(text)
    if units <= single:
        return 1
    if units == len(text):  # No pair in it that could be split.
        return -(-units // part)
    count, room = 1, part
    for character in text:
        size = (
            (2 if character in EXTENDED else 1) if gsm7 else (2 if ord(character) > 0xFFFF else 1)
        )
        if size > room:
            count, room = count + 1, part
        room -= size
    return count


def pack(sentences: Iterable[str], most: int = MOST_SEGMENTS) -> tuple[tuple[str, ...], ...]:
    """Group whole sentences, in order, into as few texts of at most `most` segments as they need.

    A sentence that alone is longer stands alone: `check` and the tests see to it that none is.
    """
    groups: list[tuple[str, ...]] = []
    for sentence in sentences:
        if groups and segments_of(" ".join((*groups[-1], sentence))) <= most:
            groups[-1] = (*groups[-1], sentence)
        else:
            groups.append((sentence,))
    return tuple(groups)


def clip(words: str, longest: int) -> str:
    """Somebody's words cut to `longest` characters at a word's end, marked as cut."""
    flat = " ".join(words.split())
    if len(flat) <= longest:
        return flat
    cut = flat[: longest - 2].rsplit(" ", 1)[0] or flat[: longest - 2]
    return f"{cut}.."
