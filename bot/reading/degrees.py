"""Degrees, degrees and minutes, degrees minutes seconds, with any marks, letters and words.

A run of tokens is a string of kinds; the shapes below are expressions over it, tried at every
token. The best reading is taken only where no other is as good; letters that contradict a sign
or each other, minutes of 60 and latitudes over 90 are asked about, never put right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from bot.reading.angle_doubts import Seen
from bot.reading.angle_tokens import Token, runs, with_decimals
from bot.reading.angles import Angle, read_angle
from bot.reading.claims import Claim, choice, found, hemispheres, one_of, radius, unclear
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Choice, Place

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
_LABELLED = (r"(?P<l1>[LG]),?(?P<c1>{c}),?&?(?P<l2>[LG]),?(?P<c2>{c})",)
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

_LONGEST_RUN = 60
"""Tokens of a run that are read: no hunter writes more figures in a row for two places."""


_REMEMBERED = 512
"""Runs of kinds whose shapes are kept."""


class Candidate(Struct, frozen=True):
    """One reading of a stretch of text; `rank` says how much speaks for it."""

    lat: Angle
    lon: Angle
    start: int
    end: int
    rank: tuple[int, bool, bool, bool, bool, int]
    west_as_o: bool
    fault: str

    def same_as(self, other: Candidate) -> bool:
        """Whether two readings mean the same point."""
        return (self.lat.value, self.lon.value) == (other.lat.value, other.lon.value)

    def covers(self, start: int, end: int, evidence: int, parts: int) -> bool:
        """Whether this reading makes another of this stretch needless: it explains as much by
        more evidence, or the same marks in another shape."""
        around = self.start <= start and end <= self.end
        longer = self.end - self.start > end - start
        return around and (
            self.rank[0] > evidence or (self.rank[0] == evidence and (longer or parts == 5))
        )

    def part_of(self, other: Candidate) -> bool:
        """Whether the other reading explains these characters and more, by as much evidence."""
        longer = self.end - self.start < other.end - other.start
        around = other.start <= self.start and self.end <= other.end
        return longer and around and self.rank[0] <= other.rank[0]

    def overlaps(self, other: Candidate) -> bool:
        """Whether two readings want the same characters."""
        return self.start < other.end and other.start < self.end


def find_degrees(page: Page, scene: Scene, low: str) -> list[Claim]:
    """Every pair of angles in the text, each claimed as a place or as asked about."""
    claims: list[Claim] = []
    for run in runs(low):
        claims.extend(_read_run(page, scene, low, run[:_LONGEST_RUN]))
    return claims


def _read_run(page: Page, scene: Scene, low: str, run: list[Token]) -> Iterator[Claim]:
    """The best reading first, then what it leaves; readings as good as it are asked about."""
    every: list[Candidate] = []
    for tokens in with_decimals(run):
        _gather(tokens, low, every)
    candidates = [c for c in every if not any(c.part_of(other) for other in every)]
    candidates.sort(key=lambda c: c.rank, reverse=True)
    while candidates:
        best = candidates[0]
        rivals = [c for c in candidates if c.overlaps(best) and not c.same_as(best)]
        equals = [c for c in rivals if c.rank[:-1] == best.rank[:-1]]
        yield _claim(page, scene, best, equals)
        candidates = [c for c in candidates if not c.overlaps(best)]


class _Fit(NamedTuple):
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


def _gather(tokens: list[Token], low: str, every: list[Candidate]) -> None:
    """Add every reading that the shapes find in a run, the richest shapes first."""
    for fit in _fits("".join([t.kind for t in tokens])):
        candidate = _candidate(tokens, fit, low, every)
        if candidate is not None:
            every.append(candidate)


@lru_cache(maxsize=_REMEMBERED)
def _fits(kinds: str) -> tuple[_Fit, ...]:
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


def _fit(parts: int, match: re.Match[str]) -> _Fit:
    groups = match.groupdict()
    spans = [match.span(g) for g, text in groups.items() if text]
    one, two = (match.start(g) if groups.get(g) else -1 for g in ("h1", "h2"))
    return _Fit(
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


def _candidate(
    tokens: list[Token], fit: _Fit, low: str, every: list[Candidate]
) -> Candidate | None:
    parts, match, first, last, places, labels, cores, evidence = fit
    start, end = tokens[first].start, tokens[last - 1].end
    for other in every:
        if other.covers(start, end, evidence, parts):
            return None
    h1, h2 = places
    letters = tokens[h1] if h1 >= 0 else None, tokens[h2] if h2 >= 0 else None
    one = read_angle(tokens[cores[0]], letters[0], labels[0])
    two = read_angle(tokens[cores[1]], letters[1], labels[1])
    seen = Seen(tokens, first, last, parts, one, two, letters, match, low)
    if not seen.believable():
        return None
    lat, lon = (two, one) if "lon" in one.axis or two.axis == "lat" else (one, two)
    fault = _fault(one, two, lat, lon) or seen.doubt()
    rank = (evidence, not fault, *seen.fitness(), last - first)
    west_as_o = any(t is not None and t.text == "o" for t in letters)
    return Candidate(lat, lon, start, end, rank, west_as_o, fault)


_AXES = {"L": "lat", "G": "lon"}


def _fault(one: Angle, two: Angle, lat: Angle, lon: Angle) -> str:
    if one.axis and one.axis == two.axis:
        return "same_axis"
    return one.fault or two.fault or ("lat_over_90" if abs(lat.value) > 90 else "")


def _claim(page: Page, scene: Scene, best: Candidate, rivals: list[Candidate]) -> Claim:
    span = (best.start, best.end)
    if best.fault:
        return unclear(page, *span, best.fault, _offers(scene, best))
    place = _place(scene, best)
    if rivals:
        others = (_place(scene, c) for c in rivals if not c.fault)
        offers = (choice(place), *(choice(p) for p in others))
        return unclear(page, *span, "two_readings", offers)
    if best.west_as_o and not {"es", "fr"} & set(scene.languages):
        # O is west in Spanish and French; elsewhere it may as well be the German east.
        east = replace(best, lon=replace(best.lon, value=-best.lon.value))
        return one_of(page, scene, *span, (place, _place(scene, east)))
    return found(page, *span, place)


def _offers(scene: Scene, best: Candidate) -> tuple[Choice, ...]:
    """What a faulty pair may have meant: the numbers the other way round for a latitude over
    90, the letter or the sign where they contradict each other."""
    lat, lon = best.lat, best.lon
    if best.fault == "contradiction":
        north, east = abs(lat.value), abs(lon.value)
        meant = (
            replace(best, lat=replace(lat, value=-north)),
            replace(best, lat=replace(lat, value=north)),
        )
        if lon.fault:
            meant = (
                replace(best, lon=replace(lon, value=-east)),
                replace(best, lon=replace(lon, value=east)),
            )
        return tuple(choice(_place(scene, c)) for c in meant)
    if best.fault != "lat_over_90" or lat.axis or lon.axis or abs(lon.value) > 90:
        return ()
    accuracy = radius(lon.value, lon.unit, lat.unit)
    return (choice(Place(lon.value, lat.value, accuracy, "degrees", ("numbers swapped",))),)


def _place(scene: Scene, best: Candidate) -> Place:
    """The reading as a place, with its hemispheres completed and said."""
    lat, lon, assumed = best.lat.value, best.lon.value, []
    # One sign in a pair of plain numbers shows that signs are being written.
    written = best.lat.signed or best.lon.signed
    lettered = bool(best.lat.axis) != bool(best.lon.axis)
    south_north, west_east = hemispheres(scene)
    if not best.lat.signed and (lettered or not written):
        lat, words = _completed(lat, south_north, ("south", "north"))
        assumed.append(words)
    if not best.lon.signed and (lettered or not written):
        lon, words = _completed(lon, west_east, ("west", "east"))
        assumed.append(words)
    accuracy = radius(lat, best.lat.unit, best.lon.unit)
    return Place(lat, lon, accuracy, NAMES[best.lat.parts], tuple(assumed))


def _completed(value: float, side: int, names: tuple[str, str]) -> tuple[float, str]:
    if not side:
        return value, f"{names[1]}, as no sign or letter was given"
    name = names[0] if side < 0 else names[1]
    return value * side, f"{name}, from the programme's area"


NAMES = {1: "decimal degrees", 2: "degrees and minutes", 3: "degrees minutes seconds"}
