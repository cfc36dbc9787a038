"""A round as a drawing: the programme's tracks, the way from stop to stop, and numbers on it.

Numbers that would lie on one another share a mark. The line between two stops is straight: it
shows the order, and the tracks beneath it show that the road is another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bot.fieldwork.round_text import DayRound
from bot.folder.tracks import Track
from bot.programme import Programme
from bot.reading.values import Place
from bot.web.sketch import HEIGHT, WIDTH, Dot, Frame, Sketch, sketch_of

MOST_TRACKS = 3000
"""More lines than that are no sketch, and a page of megabytes."""
APART = 17.0
"""Drawing units from the middle of one number to the next that has a mark of its own."""

ROOM = (60.0, 16.0)
"""So far across and down a landmark keeps from everything else, for the sake of its name."""


@dataclass(frozen=True, slots=True)
class Mark:
    """The numbers of the stops that lie in one place, and how wide they are written."""

    words: str
    x: float
    y: float

    @property
    def width(self) -> float:
        """The width of the mark in drawing units, by the number of its characters."""
        return 10.0 + 6.0 * len(self.words)


@dataclass(frozen=True, slots=True)
class RoundSketch:
    """The drawing: the way and the tracks as points of an SVG line, the stops' numbers, the base,
    and the sketch with its landmarks and scale."""

    way: str
    tracks: tuple[str, ...]
    marks: tuple[Mark, ...]
    base: Dot
    landmarks: tuple[Dot, ...]
    sketch: Sketch


def round_sketch(plan: DayRound, programme: Programme) -> RoundSketch | None:
    """The drawing of a round; None of one without stops."""
    points = [plan.base, *((stop.lat, stop.lon) for stop in plan.stops)]
    names = ["base", *(f"{n} {stop.code}" for n, stop in enumerate(plan.stops, 1))]
    sorts = ["base", *("stop" for _ in plan.stops)]
    places = [Place(lat, lon, 0.0, "degrees") for lat, lon in points]
    sketch = sketch_of(list(zip(sorts, names, places, strict=True)), programme, bases=False)
    if not plan.stops or sketch is None:
        return None
    base, *stops = sketch.dots[: len(points)]
    return RoundSketch(
        way=_line([base, *stops, base]),
        tracks=tuple(_tracks(programme, sketch.frame)),
        marks=tuple(_marks(stops)),
        base=base,
        landmarks=tuple(_spread(sketch.dots[len(points) :], (base, *stops))),
        sketch=sketch,
    )


def _line(dots: Sequence[Dot]) -> str:
    return " ".join(f"{dot.x},{dot.y}" for dot in dots)


def _marks(stops: Sequence[Dot]) -> Iterator[Mark]:
    """Each number with a mark of its own, or with that of a stop before it that is too near."""
    groups: list[tuple[Dot, list[int]]] = []
    for number, dot in enumerate(stops, 1):
        near = (n for first, n in groups if abs(first.x - dot.x) + abs(first.y - dot.y) < APART)
        numbers = next(near, None)
        if numbers is None:
            groups.append((dot, [number]))
        else:
            numbers.append(number)
    for dot, numbers in groups:
        yield Mark(", ".join(map(str, numbers)), dot.x, dot.y)


def _spread(landmarks: Sequence[Dot], others: Sequence[Dot]) -> Iterator[Dot]:
    """The landmarks whose names have room beside what is drawn already."""
    drawn = list(others)
    for mark in landmarks:
        if all(abs(d.x - mark.x) > ROOM[0] or abs(d.y - mark.y) > ROOM[1] for d in drawn):
            drawn.append(mark)
            yield mark


def _tracks(programme: Programme, frame: Frame) -> Iterator[str]:
    lines = programme.tracks.lines if programme.tracks else ()
    if len(lines) > MOST_TRACKS:
        return
    for track in lines:
        drawn = list(_drawn(track, frame))
        if any(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in drawn):
            yield " ".join(f"{x:.1f},{y:.1f}" for x, y in drawn)


def _drawn(track: Track, frame: Frame) -> Iterator[tuple[float, float]]:
    """The points of a track in the drawing, those left out that lie on the one before."""
    last = None
    for lon, lat in track.points:
        x, y = frame.xy(lat, lon)
        if last is None or abs(x - last[0]) + abs(y - last[1]) >= 1.0:
            last = (x, y)
            yield last
