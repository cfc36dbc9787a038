"""Segments against the published tables: 3GPP TS 23.038 6.2.1 and TS 23.040 (9.2.3.24.1)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.talk.segments import (
    BASIC,
    EXTENDED,
    MOST_SEGMENTS,
    clip,
    is_gsm7,
    outside_gsm7,
    pack,
    segments_of,
    spell_for_sms,
    units_of,
)


def test_the_default_alphabet_has_128_codes() -> None:
    # TS 23.038: 128 positions, one of which is the escape; Unicode's GSM0338.TXT lists the same.
    assert len(BASIC) == 127
    assert len(EXTENDED) == 10


@pytest.mark.parametrize(
    ("text", "gsm7", "units"),
    [
        ("hellohello", True, 10),
        ("52 39.454N", True, 10),
        ("geo:-36.85,174.76", True, 17),
        ("8FVC2222+22", True, 11),
        ("[8FVC2222+22]", True, 15),  # two escapes
        ("52°39'N", False, 7),
        ("Māori hut", False, 9),
        ("€", True, 2),
        ("🐗", False, 2),  # a surrogate pair
    ],
)
def test_alphabet_and_units(text: str, gsm7: bool, units: int) -> None:
    assert is_gsm7(text) is gsm7
    assert units_of(text) == units


@pytest.mark.parametrize(
    ("text", "segments"),
    [
        ("", 1),
        ("a" * 160, 1),
        ("a" * 161, 2),
        ("a" * 306, 2),
        ("a" * 307, 3),
        ("á" * 70, 1),
        ("á" * 71, 2),
        ("á" * 134, 2),
        ("á" * 135, 3),
        ("€" * 80, 1),
        ("a" * 152 + "€" + "a" * 153, 3),  # the pair may not be split: the first part holds 152
        ("a" * 151 + "€" + "a" * 153, 2),
        ("🐗" * 35, 1),
        ("🐗" * 66, 2),  # 67 units hold 33 pairs
        ("🐗" * 67, 3),
    ],
)
def test_segments(text: str, segments: int) -> None:
    assert segments_of(text) == segments


def test_the_letters_that_cost_a_second_alphabet() -> None:
    assert outside_gsm7("à qué hora murió, ¿ahí?") == "óí"


@given(st.lists(st.text(alphabet="abc é€[", min_size=1, max_size=150), max_size=8))
def test_packing_keeps_every_sentence_in_order(sentences: list[str]) -> None:
    groups = pack(sentences)
    assert [s for group in groups for s in group] == sentences
    assert all(segments_of(" ".join(g)) <= MOST_SEGMENTS for g in groups)


@given(st.text(max_size=200), st.integers(4, 60))
def test_clipping_never_grows(words: str, longest: int) -> None:
    assert len(clip(words, longest)) <= longest


@pytest.mark.parametrize(
    ("text", "spelt"),
    [
        ("¿Dónde murió?", "¿Donde murio?"),
        ("Où est la tête", "Où est la tete"),
        ("Māori hut 41°", "Maori hut 41 deg"),
        ("дом", "дом"),
        ("plain", "plain"),
    ],
)
def test_accents_that_cost_are_dropped(text: str, spelt: str) -> None:
    assert spell_for_sms(text) == spelt
