"""A text as a line of items: names, numbers, the phrases of places.toml, and unknown words.

Also the number that ends some items: "2 or 3", "1/2", "3 and a half", each with how far off it may
be, in its own unit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from bot.reading.offsets import rounding_of
from bot.reading.place_tokens import Tokens
from bot.reading.place_words import PlaceWords, Tags

FURTHEST = 14
"""Words beside a name that may belong to it."""

FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75}
_WINDOW = FURTHEST + 6
_NAME: Tags = {"name": 1.0}
_NUMBER: Tags = {"number": -1.0, "figure": 1.0}
_NOTHING: Tags = {}


class Item(NamedTuple):
    """One name, phrase, number or unknown word: its tokens, and what it may do."""

    first: int
    last: int
    tags: Tags
    text: str
    mark: str

    def any(self, *tags: str) -> bool:
        """Whether the item may do one of these things."""
        mine = self.tags
        return bool(mine) and not mine.keys().isdisjoint(tags)


# What Item._make does, without a call of Python's own for each word.
_item: Callable[[tuple[int, int, Tags, str, str]], Item] = partial(tuple.__new__, Item)


class Line:
    """A text as items, with the names in it."""

    __slots__ = ("_words", "items", "names")

    def __init__(self, tokens: Tokens, names: Sequence[tuple[int, int]], words: PlaceWords) -> None:
        self._words = words
        self.items: list[Item] = []
        self.names: list[int] = []
        last = 0
        for first, end in names:
            # What lies further off than any plan reaches need not be looked up.
            self._cut(tokens, max(last, first - _WINDOW), first)
            self.names.append(len(self.items))
            self.items.append(Item(first, end, _NAME, "", tokens.marks[first]))
            last = end
        self._cut(tokens, last, min(len(tokens.keys), last + _WINDOW))

    def _cut(self, tokens: Tokens, at: int, stop: int) -> None:
        beside = self._words.beside
        firsts, items = beside.firsts, self.items
        keys, _, _, marks = tokens
        while at < stop:
            key, mark = keys[at], marks[at]
            last, tags = at + 1, _NOTHING
            if key[0].isdigit():
                tags = _NUMBER
            elif key in FRACTIONS:
                tags = {"number": FRACTIONS[key], "half_more": FRACTIONS[key]}
            elif key in firsts and (found := beside.at(tokens, at, stop)):
                last, tags = found
                if mark == "." and _is_shortened(items, tags):
                    mark = ""
            items.append(_item((at, last, tags, key if last == at + 1 else "", mark)))
            at = last


def _is_shortened(items: Sequence[Item], tags: Tags) -> bool:
    """Whether a full stop ends a shortened unit rather than a sentence: "2 km. NE of"."""
    if tags.keys().isdisjoint(("compass", "compass_of", "link")) or len(items) < 2:
        return False
    return items[-1].any("unit") and len(items[-1].text) <= 3 and items[-2].any("number")


def number_end(items: Sequence[Item], stop: int) -> int:
    """The item of the number that ends right before `stop`, "or so" and "odd" aside, or -1."""
    last = stop - 1
    if last > 0 and items[last].any("roughly"):
        last -= 1
    return last if last >= 0 and items[last].any("number", "half_more") else -1


def number_at_end(items: Sequence[Item]) -> tuple[int, float, float] | None:
    """(first item, value, rounding in the same unit) of the number that ends the items."""
    last = number_end(items, len(items))
    if last < 0:
        return None
    value, rounding = _one(items[last])
    first = last
    if items[last].any("half_more") and last and items[last - 1].any("number"):
        more = items[last].tags["half_more"] if items[last].text in FRACTIONS else 0.5
        whole, _ = _one(items[last - 1])
        first, value = last - 1, whole + more
        rounding = max(0.25, value / 10)
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
