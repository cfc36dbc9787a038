"""PURE. Whether a member of staff asks for the round of the day: alone, beside an answer, or not.

Law: a text is taken for nothing but that question only where every word of it belongs to it, so
that "a sick stag on my round" stays the report that it is.
"""

from __future__ import annotations

from typing import Literal

from bot.fieldwork.staff_dialog import StaffWords, tokens_of
from bot.reading.page import Page

Asked = Literal["", "beside", "alone"]
"""Not at all, beside something else, or as all that the text says."""

SAYS_NOTHING = frozenset({"filler", "ok"})
LONGEST = 20
"""Words: whoever writes more says something else as well."""


def round_asked(body: str, words: StaffWords) -> Asked:
    """How one text asks for the round."""
    tokens = tokens_of(Page(body).plain)
    n = longest = others = 0
    while n < len(tokens):
        size = _size_at(tokens, n, words.round)
        step = size or _beside_at(tokens, n, words)
        longest = max(longest, size)
        others += not step
        n += step or 1
    if longest and not others and len(tokens) <= LONGEST:
        return "alone"
    # One word by itself asks for nothing beside others: "round 4" is a time.
    return "beside" if longest > 1 else ""


def _size_at(tokens: tuple[str, ...], n: int, phrases: tuple[tuple[str, ...], ...]) -> int:
    """How many words long the longest phrase is that begins here; 0 if none does."""
    return next((len(p) for p in phrases if tokens[n : n + len(p)] == p), 0)


def _beside_at(tokens: tuple[str, ...], n: int, words: StaffWords) -> int:
    """How many words here say nothing by themselves."""
    if tokens[n] in words.round_beside or tokens[n] == "?":
        return 1
    sizes = range(min(words.longest, len(tokens) - n), 0, -1)
    return next((s for s in sizes if words.phrases.get(tokens[n : n + s]) in SAYS_NOTHING), 0)
