"""The frame of a reading, built once from a programme and the words, then set to each text.

The costly parts (area, landmarks) are kept by the programme's hash, and so are the latest readings.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

from bot.programme import Programme
from bot.reading.grids import GRIDS
from bot.reading.landmarks import Landmarks
from bot.reading.read import read
from bot.reading.scene import Area, Order, Scene
from bot.reading.values import Reading
from bot.reading.words import Words

_built: dict[tuple[str, int], tuple[Words, Scene]] = {}
_MOST_KEPT = 16
_read: dict[tuple[str, str, datetime, str], tuple[Words, Reading]] = {}
_LATEST = 64


def read_text(
    programme: Programme, words: Words, body: str, now: datetime, asked: str = ""
) -> Reading:
    """What a text says that was sent at `now`, with this question open.

    The latest readings are kept: a text is read once to see whose it is, and once for what it
    says.
    """
    key = (programme.hash, body, now, asked)
    kept = _read.get(key)
    if kept is None or kept[0] is not words:
        if len(_read) >= _LATEST:
            _read.clear()
        kept = _read[key] = (words, read(body, scene_for(programme, words, now, asked)))
    return kept[1]


def scene_for(programme: Programme, words: Words, now: datetime, asked: str = "") -> Scene:
    """The scene of one text that was sent at `now` (aware), with this question open."""
    return frame_of(programme, words).at(now, asked)


def frame_of(programme: Programme, words: Words) -> Scene:
    """The programme's scene without a moment of its own; built once, kept."""
    key = (programme.hash, id(words))
    kept = _built.get(key)
    if kept is None or kept[0] is not words:
        if len(_built) >= _MOST_KEPT:
            _built.clear()
        kept = _built[key] = (words, _build(programme, words))
    return kept[1]


def anywhere(frame: Scene, now: datetime, order: Order | None = None) -> Scene:
    """The same frame without area and age limit; the offset of `now` is the local clock.

    Landmarks go with the area. Every grid is switched on, so that whoever tests notations sees
    each; a pair that more than one of them holds is asked about.
    """
    zone = timezone(now.utcoffset() or timedelta())
    return replace(
        frame,
        now=now.astimezone(zone),
        zone=zone,
        order=order or frame.order,
        languages=frame.words.languages,
        grids=tuple(dict.fromkeys((*frame.grids, *GRIDS))),
        area=None,
        oldest=None,
        landmarks=None,
        near=None,
        country="",
    )


def _build(programme: Programme, words: Words) -> Scene:
    head = programme.head
    middle = programme.area.representative_point()
    return Scene(
        now=datetime.fromtimestamp(0, programme.zone),
        zone=programme.zone,
        words=words,
        order=head.date_order,
        area=Area(programme.area, head.near_km),
        oldest=programme.oldest,
        # What is spoken comes first; every language that is there is listened for.
        languages=tuple(dict.fromkeys((*head.languages, *words.languages))),
        landmarks=Landmarks.build(programme.landmarks, words.places) if words.places else None,
        grids=head.grids,
        country=head.country,
        near=(middle.y, middle.x),
        extra=dict(head.custom_grids),
    )
