"""The shapes of two angles that stand together, and which of them fit a run of kinds.

A run is a string of kinds (angle_tokens.py), a shape an expression over it, tried at every token.
Nothing here knows the figures: only degrees.py judges what they mean.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

# The cores of an angle, by how many numbers it has; "t" carries all of its own.
_CORES = {
    3: "[+-]?iD?~?iM?~?[if][Sz]?",
    2: "[+-]?iD?~?[if]M?",
    1: "[+-]?[if]D?",
    0: "[+-]?t",
    4: "[+-]?x",
}
_MARKED = "[+-]?(?:iD~?iM~?[if][Sz]|iD~?[if]M|[if]D)"

# Which side the letters stand: before or after the number, for each of the two angles; on both
# sides of the second ("52 12.3 N, E13 34.5 E"), the same letter each time.
_DOUBLED = (r"(?P<e1>[AOz])?(?P<c1>{c})(?P<h1>[AOz]),?&?(?P<e2>[AOz])(?P<c2>{c})(?P<h2>[AOz])",)
_SIDES = (
    r"L?(?P<c1>{c})(?P<h1>[AOz]),?&?[LG]?(?P<c2>{c})(?P<h2>[AOz])",
    r"L?(?P<h1>[AOz]),?(?P<c1>{c}),?&?[LG]?(?P<h2>[AOz]),?(?P<c2>{c})",
    r"L?(?P<c1>{c})(?P<h1>[AOz]),?&?[LG]?(?P<h2>[AOz])(?P<c2>{c})",
    r"L?(?P<h1>[AOz])(?P<c1>{c}),?&?[LG]?(?P<c2>{c})(?P<h2>[AOz])",
)
_ONE_SIDE = (
    r"(?P<c1>{c})(?P<h1>[Az]),?(?P<c2>{c})",
    r"(?P<h1>[Az])(?P<c1>{c}),?(?P<c2>{c})",
    r"(?P<c1>{c}),?(?P<c2>{c})(?P<h2>O)",
    r"(?P<c1>{c}),?(?P<h2>O)(?P<c2>{c})",
)
# The letter where the degree mark would stand: "45N54.2356 45W54.2356".
_AMID = (r"(?P<c1>i(?P<h1>[Az])[if]M?),?(?P<c2>i(?P<h2>O)[if]M?)",)
# A receiver's own sentence: "3652.404,S,14709.138,E" (NMEA 0183).
_NMEA = (r"(?P<c1>x),(?P<h1>[Az]),(?P<c2>x),(?P<h2>O)",)
_LABELLED = (
    r"(?P<l1>[LG]),?(?P<c1>{c}),?&?(?P<l2>[LG]),?(?P<c2>{c})",
    r"(?<![LG])(?P<c1>{c}),?(?P<l1>[LG]),?&?(?P<c2>{c}),?(?P<l2>[LG])",
)
_BARE = (r"(?P<c1>{c}),?(?P<c2>{c})",)


def _shapes(sides: tuple[str, ...], *kinds: int) -> tuple[tuple[int, re.Pattern[str]], ...]:
    cores = [(k, _CORES[k]) for k in kinds] + [(5, _MARKED)]
    return tuple((k, re.compile(f"(?={side.format(c=c)})")) for side in sides for k, c in cores)


LETTERED = (
    *((2, re.compile(f"(?={side})")) for side in _AMID),
    *((4, re.compile(f"(?={side})")) for side in _NMEA),
    *_shapes(_DOUBLED, 3, 2, 1),
    *_shapes(_SIDES, 3, 2, 1, 0, 4),
)
HALF_LETTERED = _shapes(_ONE_SIDE, 3, 2, 1)
LABELLED = _shapes(_LABELLED, 3, 2, 1, 0)
BARE = _shapes(_BARE, 3, 2, 1, 0)

_SAYING = re.compile("[ftDMSAOzLG+-]")

_REMEMBERED = 512
"""Runs of kinds whose shapes are kept."""

_AXES = {"L": "lat", "G": "lon"}


class Fit(NamedTuple):
    """One shape that fits a run of kinds: tokens from `first` to before `last`, where the letters
    stand (-1 for none), the axes that labels give, the two cores, and what speaks for it."""

    parts: int
    match: re.Match[str]
    first: int
    last: int
    letters: tuple[int, int]
    labels: tuple[str, str]
    cores: tuple[slice, slice]
    evidence: int


@lru_cache(maxsize=_REMEMBERED)
def fits(kinds: str) -> tuple[Fit, ...]:
    """Every shape that fits somewhere in a run of kinds. Few ways of writing are in use, so that
    the runs of kinds repeat from text to text, whatever their figures."""
    letters = sum(map(kinds.count, "AOz"))
    enough = _enough(kinds)
    if not any(enough):
        return ()
    tables = (
        (LETTERED, letters > 1), (HALF_LETTERED, letters > 0),
        (LABELLED, "L" in kinds and "G" in kinds), (BARE, True),
    )  # fmt: skip
    return tuple(
        _fit(parts, match)
        for table, wanted in tables
        for parts, shape in (table if wanted else ())
        if enough[parts]
        for match in shape.finditer(kinds)
    )


def _fit(parts: int, match: re.Match[str]) -> Fit:
    groups = match.groupdict()
    spans = [match.span(g) for g, text in groups.items() if text]
    one, two = (match.start(g) if groups.get(g) else -1 for g in ("h1", "h2"))
    return Fit(
        parts, match,
        first=min(s[0] for s in spans),
        last=max(s[1] for s in spans),
        letters=(one, two),
        labels=(_AXES.get(groups.get("l1") or "", ""), _AXES.get(groups.get("l2") or "", "")),
        cores=(slice(*match.span("c1")), slice(*match.span("c2"))),
        evidence=(one >= 0) + (two >= 0) + 2 * bool(groups.get("l1")),
    )  # fmt: skip


def _enough(kinds: str) -> tuple[bool, ...]:
    """For each count of parts, whether a run has the numbers for two such angles."""
    numbers, marks = sum(map(kinds.count, "if")), sum(map(kinds.count, "DMS"))
    if not _SAYING.search(kinds):
        # Nothing but integers: the three parts of two angles, or a telephone number.
        return (False, False, False, numbers > 5, False, False)
    return (
        kinds.count("t") > 1, numbers > 1, numbers > 3, numbers > 5,
        kinds.count("x") > 1, numbers > 1 and marks > 0,
    )  # fmt: skip
