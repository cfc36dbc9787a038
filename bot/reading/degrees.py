"""Degrees, degrees and minutes, degrees minutes seconds, with any marks, letters and words.

A run of tokens is a string of kinds; the shapes (angle_shapes.py) are expressions over it. The
best reading is taken only where no other is as good; letters that contradict a sign or each
other, minutes of 60 and latitudes over 90 are asked about, never put right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from bot.reading.angle_doubts import Seen
from bot.reading.angle_shapes import Fit, fits
from bot.reading.angle_tokens import Token, runs, with_decimals
from bot.reading.angles import Angle, read_angle
from bot.reading.claims import Claim, choice, found, hemispheres, one_of, radius, unclear
from bot.reading.page import Page
from bot.reading.scene import Scene
from bot.reading.values import Choice, Place

_LONGEST_RUN = 60
"""Tokens of a run that are read: no hunter writes more figures in a row for two places."""


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


def _gather(tokens: list[Token], low: str, every: list[Candidate]) -> None:
    """Add every reading that the shapes find in a run, the richest shapes first."""
    for fit in fits("".join([t.kind for t in tokens])):
        candidate = _candidate(tokens, fit, low, every)
        if candidate is not None:
            every.append(candidate)


def _candidate(tokens: list[Token], fit: Fit, low: str, every: list[Candidate]) -> Candidate | None:
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


def _fault(one: Angle, two: Angle, lat: Angle, lon: Angle) -> str:
    if one.axis and one.axis == two.axis:
        return "same_axis"
    return one.fault or two.fault or ("lat_over_90" if abs(lat.value) > 90 else "")


_DASHED = re.compile(r"(?:^|(?<![a-z])(?:lat|latitude|gps|at)|[:=(,;]) ?[-\u2212\u2013] $", re.I)
"""A dash that parts nothing from anything, right before a figure."""


def _claim(page: Page, scene: Scene, best: Candidate, rivals: list[Candidate]) -> Claim:
    span = (best.start, best.end)
    if best.fault:
        return unclear(page, *span, best.fault, _offers(scene, best))
    place = _place(scene, best)
    if rivals:
        others = (_place(scene, c) for c in rivals if not c.fault)
        offers = (choice(place), *(choice(p) for p in others))
        return unclear(page, *span, "two_readings", offers)
    if not best.lat.signed and not hemispheres(scene)[0] and _DASHED.search(page.left, 0, span[0]):
        # "- 36.87, 147.15": a minus, or a dash before the place.
        south = replace(best, lat=replace(best.lat, value=-best.lat.value, signed=True))
        return one_of(page, scene, *span, (_place(scene, south), place))
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
