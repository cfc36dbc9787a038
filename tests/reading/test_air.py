"""How warm the air is, from loose words: only what can be nothing else.

The phrases are common practice, from memory: no corpus of them is published. 95 F is 35 C and
86 F is 30 C by the definition of the two scales (BIPM, The International System of Units, for the
degree Celsius; NIST SP 811, B.8, for the conversion).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reading.air import COLDEST_C, HOTTEST_C, read_air
from bot.reading.page import STRUCK, Page

SAID = [
    ("AU", "28 degrees here", 28.0),
    ("AU", "30C", 30.0),
    ("AU", "35 in the shade", 35.0),
    ("AU", "about 31°C today, no ice", 31.0),
    ("AU", "its 30c and hot", 30.0),
    ("AU", "33.5C out here", 33.5),
    ("AU", "hot day 95F", 35.0),
    ("AU", "shot in 30C heat at Brindle Hut", 30.0),
    ("AU", "cold one, 2 degrees celsius outside", 2.0),
    ("US", "95 in the shade", 35.0),
    ("US", "86 degrees outside", 30.0),
    ("US", "it's 30C here", 30.0),
    ("ES", "30 grados a la sombra", 30.0),
    ("FR", "30 degrés ici", 30.0),
]

TRAPS = [
    # Positions, bearings and grids.
    ("AU", "28 deg"),
    ("AU", "28 deg 30 S 147 09 E"),
    ("AU", "36 degrees south, 147 degrees east here"),
    ("AU", "28 degrees 12 min here"),
    ("AU", "-28 degrees here"),
    ("AU", "28.53 degrees here"),
    ("AU", "36.87S 147.15E today"),
    ("AU", "zone 55 H 30C 123456 654321"),
    ("AU", "bearing 28 degrees here"),
    ("AU", "turn 30 degrees here"),
    # How cold the head is kept, and what else has a temperature.
    ("AU", "freezer at -18C"),
    ("AU", "in the fridge at 4 degrees here"),
    ("AU", "head is at 4C"),
    ("AU", "4 degrees in the coolroom"),
    ("AU", "cooked at 45C"),
    ("AU", "fever of 39C"),
    # Prices, weights, ages, hours, and what no air is.
    ("AU", "30c each"),
    ("AU", "a boar of 30 c"),
    ("AU", "30F"),
    ("AU", "at 28"),
    ("AU", "95 in the shade"),
    ("AU", "boiled at 100C"),
    # Nobody knows which scale, or which figure.
    ("", "28 degrees here"),
    ("AU", "it's 28C, was 35C yesterday"),
]


@pytest.mark.parametrize(("country", "text", "celsius"), SAID)
def test_the_air(country: str, text: str, celsius: float) -> None:
    page = Page(text)
    [word] = read_air(page, country)
    assert float(word.key) == pytest.approx(celsius, abs=0.05)
    assert page.left[word.start : word.end] == STRUCK * (word.end - word.start)


@pytest.mark.parametrize(("country", "text"), TRAPS)
def test_what_is_no_air_is_left_alone(country: str, text: str) -> None:
    page = Page(text)
    assert read_air(page, country) == ()
    assert page.left == page.plain


@given(st.text(max_size=300), st.sampled_from(["AU", "US", "", "ES"]))
def test_any_text_gives_one_possible_temperature_or_none(text: str, country: str) -> None:
    for word in read_air(Page(text), country):
        assert COLDEST_C <= float(word.key) <= HOTTEST_C
