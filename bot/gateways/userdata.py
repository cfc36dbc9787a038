"""What an SMS carries: GSM 7-bit and UCS-2 octets, the user data header, long texts in parts.

Alphabet: 3GPP TS 23.038 sections 6.2.1 and 6.2.1.1, one septet an octet, as SMPP carries it.
Header and lengths: 3GPP TS 23.040 section 9.2.3.24, with a reference of 8 bits (IEI 00) or 16
(IEI 08). An escaped character and a pair of surrogates are never parted here; where a sender's
telephone parted them, `mended` puts them together again.
"""

from __future__ import annotations

from typing import NamedTuple

ESCAPE = "\x1b"
ALPHABET = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENSION = {
    0x0A: "\f",
    0x14: "^",
    0x28: "{",
    0x29: "}",
    0x2F: "\\",
    0x3C: "[",
    0x3D: "~",
    0x3E: "]",
    0x40: "|",
    0x65: "€",
}
_CODES = {c: bytes([n]) for n, c in enumerate(ALPHABET) if c != ESCAPE} | {
    c: bytes([0x1B, n]) for n, c in EXTENSION.items()
}
_MEANT = {ALPHABET[n]: c for n, c in EXTENSION.items()}
"""What a letter of the default alphabet means after an escape."""

SINGLE, GSM_PART, UCS2_SINGLE, UCS2_PART = 160, 153, 140, 134
"""Octets of an unpacked single text and of a part, in either alphabet (8-bit reference)."""

HEADER = 6
MOST_PARTS = 255


class Coded(NamedTuple):
    """A text as octets: whole, or in parts that each begin with their header."""

    parts: tuple[bytes, ...]
    ucs2: bool

    @property
    def header_octets(self) -> int:
        """How many octets of each part are its header."""
        return HEADER if len(self.parts) > 1 else 0


class Header(NamedTuple):
    """What a user data header says of joining: part `number` of `total` under `ref`."""

    ref: int
    total: int
    number: int


def encode_gsm(text: str) -> bytes | None:
    """The text one septet an octet, or None if a character stands in neither table."""
    codes = [_CODES.get(character) for character in text]
    return None if None in codes else b"".join(code for code in codes if code)


def decode_gsm(data: bytes) -> str:
    """The text of unpacked septets. A code that the extension table lacks is read from the
    default table (TS 23.038, 6.2.1.1); what is no septet becomes U+FFFD; a last escape stays."""
    return mended("".join(ALPHABET[code] if code < 128 else "\ufffd" for code in data))


def decode_ucs2(data: bytes) -> str:
    """The text of UTF-16 octets, big end first; half a pair at either end stays for joining."""
    return data[: len(data) // 2 * 2].decode("utf-16-be", "surrogatepass")


def mended(text: str) -> str:
    """The text with each escape applied to the letter behind it and halves of pairs joined."""
    head, *rest = text.split(ESCAPE)
    if not rest:
        return _paired(text)
    last = rest.pop()
    out = [head, *(_escaped(piece) for piece in rest)]
    return _paired("".join([*out, _escaped(last) if last else ESCAPE]))


def _escaped(piece: str) -> str:
    """What stands behind an escape; a second escape in a row is a space (6.2.1.1, note 1)."""
    return _MEANT.get(piece[0], piece[0]) + piece[1:] if piece else " "


def _paired(text: str) -> str:
    return text.encode("utf-16-be", "surrogatepass").decode("utf-16-be", "surrogatepass")


def whole(text: str) -> str:
    """The text as it may be stored: what is still half a character is U+FFFD."""
    ended = mended(text).replace(ESCAPE, "")
    return ended.encode("utf-16-be", "surrogatepass").decode("utf-16-be", "replace")


def split(text: str, ref: int, *, wide: bool = False) -> Coded:
    """The text as octets, in parts under `ref` (0 to 255) if it is long; `wide` wants UCS-2 even
    where seven bits would do. ValueError for more than 255 parts, which a header cannot count.
    """
    gsm = None if wide else encode_gsm(text)
    if gsm is not None:
        single, room, units = SINGLE, GSM_PART, [_CODES[character] for character in text]
    else:
        single, room = UCS2_SINGLE, UCS2_PART
        units = [character.encode("utf-16-be", "replace") for character in text]
    data = b"".join(units)
    if len(data) <= single:
        return Coded((data,), gsm is None)
    pieces = _filled(units, room)
    if len(pieces) > MOST_PARTS:
        raise ValueError("a text of more than 255 parts")
    heads = (bytes([5, 0, 3, ref % 256, len(pieces), n]) for n in range(1, len(pieces) + 1))
    return Coded(
        tuple(head + piece for head, piece in zip(heads, pieces, strict=True)), gsm is None
    )


def _filled(units: list[bytes], room: int) -> list[bytes]:
    pieces = [b""]
    for unit in units:
        if len(pieces[-1]) + len(unit) > room:
            pieces.append(b"")
        pieces[-1] += unit
    return pieces


def read_header(data: bytes) -> tuple[Header | None, bytes]:
    """What the header at the front says, and the octets behind it.

    No Header where it holds nothing on joining, or nonsense; TS 23.040 9.2.3.24 wants elements
    that are malformed ignored.
    """
    length = data[0] if data else 0
    body, rest = data[1 : 1 + length], data[1 + length :]
    found: Header | None = None
    while len(body) >= 2:
        kind, size = body[0], body[1]
        value, body = body[2 : 2 + size], body[2 + size :]
        if kind == 0x00 and len(value) == 3:
            found = Header(value[0], value[1], value[2])
        elif kind == 0x08 and len(value) == 4:
            found = Header(int.from_bytes(value[:2], "big"), value[2], value[3])
    return found if found and 1 <= found.number <= found.total and found.total > 1 else None, rest
