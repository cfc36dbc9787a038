"""A scan cuts a text once; what a strike leaves is what a fresh cut of the rest would give."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reading.scan import STRUCK, Scan, scan_of, without

LETTERS = st.text("abz\u00e9\u0130'12.,:- @\u00bd", max_size=40)


@given(LETTERS, st.integers(0, 40), st.integers(1, 12))
def test_a_strike_leaves_what_a_fresh_cut_would_give(text: str, start: int, length: int):
    start = min(start, len(text))
    end = min(start + length, len(text))
    struck = text[:start] + STRUCK * (end - start) + text[end:]
    assert without(scan_of(text), start, end) == scan_of(struck)


@given(LETTERS)
def test_the_words_and_the_gaps_are_the_text(text: str):
    scan = scan_of(text)
    parts = [gap + word for gap, word in zip(scan.gaps, scan.words, strict=True)]
    assert scan.low.startswith("".join(parts))
    stretches = [scan.low[a:b] for a, b in zip(scan.starts, scan.ends, strict=True)]
    assert stretches == scan.words
    assert len(scan.low) == len(text)


@pytest.mark.parametrize(
    ("text", "scan"),
    [
        ("", Scan("", [], [], [], [])),
        ("Boar, 2,5 km", Scan("boar, 2,5 km", ["boar", "2,5", "km"], [0, 6, 10], [4, 9, 12],
                              ["", ", ", " "])),
        ("D'Orrin 3", Scan("d'orrin 3", ["d'orrin", "3"], [0, 8], [7, 9], ["", " "])),
    ],
)  # fmt: skip
def test_a_text_is_cut_into_columns(text: str, scan: Scan):
    assert scan_of(text) == scan
