"""The language of a text, told by its everyday words; "" where they do not decide."""

from __future__ import annotations

from collections.abc import Iterable

_ENOUGH = 2
"""Everyday words by which the first language must be known, unless no other has any."""


def language_of(everyday_in: Iterable[tuple[str, ...]]) -> str:
    """The code ("en") of a text's language by the languages in which each of its words is an
    everyday one, or "" where it cannot be told.

    Words that two languages share count for both, so that they decide nothing.
    """
    scores: dict[str, int] = {}
    for codes in filter(None, everyday_in):
        for code in codes:
            scores[code] = scores.get(code, 0) + 1
    if not scores:
        return ""
    best = max(scores, key=scores.__getitem__)
    most = scores.pop(best)
    second = max(scores.values(), default=0)
    return best if most > second and (most >= _ENOUGH or not second) else ""
