"""The pieces of a line of words, and the number that ends some of them: "2 or 3", "1/2", "3 and a
half", each with how far off it may be, in its own unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bot.reading.offsets import rounding_of
from bot.reading.place_words import Tags

FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75}


class Item(NamedTuple):
    """One name, phrase, number or unknown word: its tokens, and what it may do."""

    first: int
    last: int
    tags: Tags
    text: str
    mark: str

    def any(self, *tags: str) -> bool:
        """Whether the item may do one of these things."""
        return any(tag in self.tags for tag in tags)


def number_at_end(items: Sequence[Item]) -> tuple[int, float, float] | None:
    """(first item, value, rounding in the same unit) of the number that ends the items."""
    last = len(items) - 1
    value, rounding = _one(items[last])
    first = last
    if items[last].any("half_more") and last and items[last - 1].any("number"):
        more = items[last].tags["half_more"] if items[last].text in FRACTIONS else 0.5
        whole, _ = _one(items[last - 1])
        first, value = last - 1, whole + more
        rounding = max(0.25, value / 10)
    elif not items[last].any("number"):
        return None
    return _ranged(items, first, value, rounding)


def _one(item: Item) -> tuple[float, float]:
    if item.any("figure"):
        return float(item.text.replace(",", ".")), rounding_of(item.text, 1.0)
    value = item.tags.get("number", 0.0)
    return value, max(value / 4, 0.1)


def _ranged(
    items: Sequence[Item], first: int, value: float, rounding: float
) -> tuple[int, float, float] | None:
    """ "2 or 3", "1-2" and "1/2": two figures together."""
    back = first - 1
    if back >= 1 and items[back].any("either") and not items[back].any("figure"):
        back -= 1
    if back < 0 or not items[back].any("figure") or not items[first].any("figure"):
        return first, value, rounding
    other, _ = _one(items[back])
    if back == first - 1 and items[first].mark == "/":
        return (back, other / value, other / value / 4) if value else None
    low, high = sorted((other, value))
    apart = back < first - 1 or items[first].mark == "-"
    if not apart:
        return first, value, rounding
    return back, (low + high) / 2, (high - low) / 2 + rounding
