"""The octets of an SMS, against another library's tables and splitting, and the published lengths.

Sources: gsm0338 1.1 (the 7-bit alphabet), smpplib 2.2 (parts with a header), 3GPP TS 23.038 and
TS 23.040 for the figures. `bot/talk/segments.py` counts what is billed, on its own.
"""

from __future__ import annotations

import pytest
from gsm0338 import Codec
from hypothesis import example, given
from hypothesis import strategies as st
from smpplib import consts
from smpplib.gsm import make_parts

from bot.gateways.userdata import (
    ALPHABET,
    ESCAPE,
    EXTENSION,
    Header,
    decode_gsm,
    decode_ucs2,
    encode_gsm,
    mended,
    read_header,
    split,
    whole,
)
from bot.talk.segments import BASIC, EXTENDED, segments_of

GSM = "".join(sorted(BASIC | EXTENDED))
# That library's table lacks the section sign, and it parts escapes from their letters.
PLAIN = st.text(st.sampled_from(sorted(BASIC - {"§"})), max_size=700)
GSM_TEXT = st.text(st.sampled_from(GSM), max_size=700)
ANY = st.text(st.characters(exclude_categories=["Cs"]), max_size=300)


def test_the_alphabet_is_the_other_librarys():
    codec = Codec()
    for code, character in enumerate(ALPHABET):
        if character != ESCAPE:
            assert codec.encode(character)[0] == bytes([code])
    for code, character in EXTENSION.items():
        assert codec.encode(character)[0] == bytes([0x1B, code])


def test_the_alphabet_is_the_one_that_is_billed():
    assert set(ALPHABET) - {ESCAPE} == BASIC
    assert set(EXTENSION.values()) == EXTENDED


@given(GSM_TEXT)
def test_seven_bits_there_and_back(text):
    assert decode_gsm(encode_gsm(text)) == text


@pytest.mark.parametrize(
    ("data", "text"),
    [
        (b"\x1b\x65", "€"),
        # TS 23.038, 6.2.1.1: a code that the table lacks is shown from the default alphabet.
        (b"\x1b\x41", "A"),
        (b"\x1b\x1b", " "),
        (b"5 \x1b", "5 "),
        (b"\xff", "\ufffd"),
        (b"", ""),
    ],
)
def test_odd_septets_are_read_as_the_standard_says(data, text):
    assert whole(decode_gsm(data)) == text


@pytest.mark.parametrize(
    ("text", "ucs2", "octets"),
    [
        # TS 23.040: 160 septets or 140 octets (70 units of UCS-2) in one text; with a header of
        # an 8-bit reference 153 or 134. The header itself takes 6.
        ("a" * 160, False, [160]),
        ("a" * 161, False, [6 + 153, 6 + 8]),
        ("€" * 80, False, [160]),
        # An escape and its letter are not parted: 152 in the first part.
        ("a" * 152 + "€" * 5, False, [6 + 152, 6 + 10]),
        ("ā" * 70, True, [140]),
        ("ā" * 71, True, [6 + 134, 6 + 8]),
        # Nor are two surrogates: 33 pairs are 132 octets.
        ("\N{BOAR}" * 36, True, [6 + 132, 6 + 12]),
        ("", False, [0]),
    ],
)
def test_texts_are_split_at_the_published_lengths(text, ucs2, octets):
    coded = split(text, 9)
    assert (coded.ucs2, [len(part) for part in coded.parts]) == (ucs2, octets)


@given(PLAIN)
@example("a" * 1000)
def test_plain_texts_are_split_as_another_library_does(text):
    theirs, coding, esm_class = make_parts(text)
    ours = split(text, theirs[0][3] if esm_class else 0)
    assert list(ours.parts) == theirs
    assert bool(ours.header_octets) == (esm_class == consts.SMPP_GSMFEAT_UDHI)
    assert coding == consts.SMPP_ENCODING_DEFAULT


@given(st.one_of(GSM_TEXT, ANY), st.integers(0, 255))
@example("[" * 400, 3)
def test_the_parts_are_the_text_again_and_as_many_as_are_billed(text, ref):
    coded = split(text, ref)
    assert len(coded.parts) == segments_of(text)
    read = decode_ucs2 if coded.ucs2 else decode_gsm
    if not coded.header_octets:
        assert read(coded.parts[0]) == text
        return
    heads, bodies = zip(*(read_header(part) for part in coded.parts), strict=True)
    total = len(bodies)
    assert heads == tuple(Header(ref, total, n) for n in range(1, total + 1))
    assert "".join(map(read, bodies)) == text
    for body in bodies:
        assert whole(read(body)) == read(body)


def test_more_parts_than_a_header_counts_are_refused():
    with pytest.raises(ValueError, match="255"):
        split("a" * (153 * 255 + 1), 0)


@pytest.mark.parametrize(
    ("data", "header"),
    [
        # TS 23.040, 9.2.3.24.1 and 9.2.3.24.8: references of 8 and of 16 bits.
        ("050003ae0302", Header(0xAE, 3, 2)),
        ("060804beef0201", Header(0xBEEF, 2, 1)),
        # Beside an element for ports (05), in either order.
        ("0b0504158200000003ae0302", Header(0xAE, 3, 2)),
        ("0b0003ae03020504158200 00".replace(" ", ""), Header(0xAE, 3, 2)),
        # Nothing on joining, one part only, numbers that cannot be, a cut header.
        ("0605041582 0000".replace(" ", ""), None),
        ("050003ae0101", None),
        ("050003ae0300", None),
        ("050003ae0304", None),
        ("05000302", None),
        ("", None),
    ],
)
def test_headers_are_read_or_left(data, header):
    assert read_header(bytes.fromhex(data) + b"rest" * bool(header))[0] == header


@given(st.binary(max_size=40))
def test_any_header_is_read(data):
    header, rest = read_header(data)
    assert len(rest) <= max(len(data) - 1, 0)
    assert header is None or 1 <= header.number <= header.total


@given(st.text(max_size=60))
def test_mending_whole_text_changes_nothing_but_escapes(text):
    plain = text.replace(ESCAPE, "")
    assert mended(plain) == plain
    whole(text).encode()
