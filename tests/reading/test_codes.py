"""Codes catch every slip of pencil or tongue that ISO/IEC 7064 promises to catch."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reading.codes import ALPHABET, LENGTH, check_value, find_codes, is_code, spell, with_check

DIGITS = "0123456789"
ALPHANUMERIC = DIGITS + "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

bodies = st.text(ALPHABET, min_size=LENGTH - 1, max_size=LENGTH).map(with_check).filter(is_code)


@pytest.mark.parametrize(
    ("text", "modulus", "alphabet", "check"),
    [
        # The worked example of MOD 11-2 in the documentation of the crate iso-7064 (docs.rs).
        ("079", 11, DIGITS + "X", "X"),
        # ISO 27729 (names of contributors) uses MOD 11-2: published identifiers end in it.
        ("000000012146438", 11, DIGITS + "X", "X"),
        # A blood donation number of the UK transfusion services' Red Book, annex 2: MOD 37-2.
        ("G123498654321", 37, ALPHANUMERIC + "*", "H"),
    ],
)
def test_published_check_characters(text: str, modulus: int, alphabet: str, check: str) -> None:
    assert alphabet[check_value(map(alphabet.index, text), modulus, 2)] == check


def test_the_alphabet_is_what_the_check_needs() -> None:
    """A prime of characters, and 2 a primitive root of it: its powers are all of 1 to 18."""
    size = len(ALPHABET)
    assert all(size % n for n in range(2, size))
    assert {pow(2, n, size) for n in range(size - 1)} == set(range(1, size))
    assert len(set(ALPHABET)) == size
    assert not set(ALPHABET) & set("AEIOU01LQDZSGBVN")


@given(bodies)
def test_every_single_wrong_character_is_caught(code: str) -> None:
    for place, wrong in itertools.product(range(len(code)), ALPHABET):
        changed = code[:place] + wrong + code[place + 1 :]
        assert changed == code or not is_code(changed)


@given(bodies)
def test_every_two_neighbours_changed_about_are_caught(code: str) -> None:
    for n in range(len(code) - 1):
        turned = code[:n] + code[n + 1] + code[n] + code[n + 2 :]
        assert turned == code or not is_code(turned)


@given(bodies, st.sampled_from(["-", " ", ""]), st.booleans())
def test_a_code_is_found_however_it_is_typed(code: str, gap: str, small: bool) -> None:
    written = code[:3] + gap + code[3:]
    text = f"got {written.lower() if small else written}, thanks"
    assert find_codes(text) == (spell(code),)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "55H FV 123 456",
        "-36.7342, 147.0521",
        "0491 570 006",
        "shot 25/11 at 1730, 80 kg boar",
        "3 km NW of Brindle Hut",
        "thanks mate",
        "234-567",
    ],
)
def test_other_things_are_not_taken_for_codes(text: str) -> None:
    assert find_codes(text) == ()


@given(st.text(max_size=200))
def test_any_text_gives_codes_or_none(text: str) -> None:
    assert all(is_code(code.replace("-", "")) for code in find_codes(text))
