"""Codes that are drawn are codes, and as good as never the same twice."""

from __future__ import annotations

from bot.reading.codes import LENGTH, find_codes
from bot.service.codes import draw, seeded


def test_what_is_drawn_is_read_back() -> None:
    for _ in range(300):
        code = draw()
        assert find_codes(f"about {code}") == (code,)
        assert len(code) == LENGTH + 1


def test_a_longer_one_is_a_code_too() -> None:
    code = draw(1)
    assert find_codes(code) == (code,)
    assert len(code) == LENGTH + 2


def test_a_seed_gives_the_same_codes_in_the_same_order() -> None:
    first, second = seeded(5), seeded(5)
    codes = [first() for _ in range(50)]
    assert codes == [second() for _ in range(50)]
    assert len(set(codes)) == 50


def test_chance_seldom_repeats_itself() -> None:
    """1.27 million codes: of 1,000 drawn about 0.4 pairs are the same (birthday problem)."""
    assert len({draw() for _ in range(1000)}) > 990
