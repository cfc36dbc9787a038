"""WHEN: from a text's words to a span in the programme's zone, or to what has to be asked.

cut -> label in each of the programme's languages -> the grammar's days and times -> one span.
Never in the future, never older than the programme's limit without asking, never an instant
that nobody said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from bot.reading.calendar_words import Lexicon
from bot.reading.clock import clocks_said, parts_said
from bot.reading.date_label import Labelled, label
from bot.reading.date_scan import Cut, cut
from bot.reading.days import days_said
from bot.reading.page import Page
from bot.reading.pieces import Frame
from bot.reading.scene import Scene
from bot.reading.settle import Light, Span, settle
from bot.reading.told import Heard, one_taken_back
from bot.reading.twilight import Sun, sun
from bot.reading.values import Choice, Found, Unclear, When

TAKEN_BACK = "another day was taken back"
"""What a When assumes whose text said one day in the place of another."""

TELL_WEIGHT = 4
"""A word that shows the language counts as so many letters of a date that was read in it."""


def read_when(page: Page, scene: Scene) -> tuple[Found[When] | None, tuple[Unclear, ...]]:
    """The span that a text tells of the death, and what is unclear about it.

    What was read is struck from the page. Reasons: in_the_future, no_such_date, weekday_today,
    two_days, two_readings, parts_disagree, other_day, too_old; choices carry a When each.
    """
    cuts = cut(page.scan)
    frame = Frame(scene.now.astimezone(scene.zone), scene.zone, scene.order)
    heard = _in_best_language(cuts, scene, frame)
    if heard is None:
        return None, ()
    settled = settle(heard, frame, _light(scene), scene.asked == "when")
    if not settled.pieces:
        return None, ()
    start = min(p.start for p in settled.pieces)
    end = max(p.end for p in settled.pieces)
    for piece in settled.pieces:
        page.strike(piece.start, piece.end)
    words = page.heard(start, end)
    if settled.span is None:
        return None, (_unclear(settled.why, words, settled.choices, start, end),)
    if scene.oldest is not None and settled.span[1] < frame.now - scene.oldest:
        return None, (_unclear("too_old", words, (settled.span,), start, end),)
    also = (TAKEN_BACK,) if one_taken_back(heard) else ()
    value = When(*settled.span, (*settled.assumed, *also))
    return Found(value, words, start, end), ()


def _unclear(why: str, heard: str, spans: Sequence[Span], start: int, end: int) -> Unclear:
    choices = tuple(Choice(s[0].date().isoformat(), When(s[0], s[1])) for s in dict.fromkeys(spans))
    return Unclear("when", why, heard, choices, start, end)


_FIGURES = frozenset("IJXkHEQO4Y1#")


def _in_best_language(cuts: Sequence[Cut], scene: Scene, frame: Frame) -> Heard | None:
    """The reading in the language that explains most of the text; of equals the first.

    A language that another one far outdoes is not tried: "tué" is no Tuesday.
    """
    known: Mapping[str, Lexicon] = scene.words.calendar.languages
    words = {c[1] for c in cuts}
    figures = not _FIGURES.isdisjoint({c[0] for c in cuts})
    shown = {n: len(words & known[n].tells) for n in scene.languages if n in known}
    most = max(shown.values(), default=0)
    best: tuple[int, Heard] | None = None
    for language, told in shown.items():
        lexicon = known[language]
        if (most > 1 and told * 3 < most) or not (figures or words & lexicon.anchors):
            continue
        heard = _heard(label(cuts, lexicon), frame)
        covered = heard.covered()
        if covered and (best is None or covered + TELL_WEIGHT * told > best[0]):
            best = covered + TELL_WEIGHT * told, heard
    return best[1] if best else None


def _heard(text: Labelled, frame: Frame) -> Heard:
    days = days_said(text, frame)
    clocks, parts = clocks_said(text), parts_said(text)
    if days and (clocks or parts):
        taken = {i for d in days for i in range(d.first, d.last)}
        # A written time may stand in the middle of a date: "Nov 19 08:00 2023".
        clocks = [c for c in clocks if text.letters[c.last - 1] == "k" or c.first not in taken]
        parts = [p for p in parts if taken.isdisjoint(range(p.first, p.last))]
    return Heard(text.letters, days, clocks, parts)


def _light(scene: Scene) -> Light:
    """The light of a day where the scene is: its own point, or the middle of the area."""

    def light(day: date) -> Sun | None:
        point = scene.near
        if point is None and scene.area is not None:
            middle = scene.area.shape.centroid
            point = (middle.y, middle.x)
        return None if point is None else sun(point[0], point[1], day, scene.zone)

    return light
