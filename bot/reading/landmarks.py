"""The programme's named places, found in a text however they are spelt, with what stands beside.

Built once from the landmarks and the words of places.toml. Never a pick between two: a name that
stands twice, a part of a name, a name that goes on ("Sandy Creek Road") is Unclear with choices.
A short name ("the saddle", "Brindle") counts only after a word of place, alone, or when asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from bot.reading.beside import Beside
from bot.reading.describe import name_place
from bot.reading.line import Line
from bot.reading.name_forms import NamedPlace, Spelt, drop_shadowed_parts, kept_name, spellings
from bot.reading.offsets import LONG_M, Plan, Spot, fix
from bot.reading.page import Page
from bot.reading.place_tokens import Token, tokens_of
from bot.reading.place_words import PlaceWords
from bot.reading.scene import Scene
from bot.reading.spelling import Hit, NameTree
from bot.reading.values import Choice, Found, Place, Unclear

_ASKED = frozenset({"kill_place", "pickup_place"})
_FIXING = frozenset({"bearing", "reach", "toward", "between", "near"})
_MOST_CHOICES = 4
_SURE_FROM = 8
"""Letters from which a name with one slip is still sure; with two it is asked about."""


Claim = Found[Place] | Unclear


class Mention(NamedTuple):
    """A name in the text, the landmarks that it may be, and why it is in doubt ("" it is not)."""

    first: int
    last: int
    landmarks: tuple[int, ...]
    slips: int
    doubt: str


class Landmarks:
    """All landmarks of a programme, ready to be found and to be named."""

    __slots__ = ("_spelt", "_tree", "marks", "places", "spots", "table", "words")

    def __init__(self, places: tuple[NamedPlace, ...], words: PlaceWords) -> None:
        self.words = words
        self.places = places
        self.spots = tuple(Spot(p.lat, p.lon, words.radius(p.kind)) for p in places)
        self._spelt = drop_shadowed_parts(
            [s for number, place in enumerate(places) for s in spellings(number, place, words)]
        )
        self._tree = NameTree(
            ((s.words, row) for row, s in enumerate(self._spelt)), words.never, words.fillers
        )
        names = [kept_name(p.name, words) for p in places]
        said = Counter(names)
        once = [n for n, name in enumerate(names) if said[name] == 1]
        self.marks = np.array(once, dtype=int)
        """Landmarks to name other places by: those whose name stands once."""
        self.table = np.array([self.spots[n] for n in once], dtype=float).reshape(-1, 3)
        """Their latitudes, longitudes and reaches."""

    @classmethod
    def build(cls, rows: Iterable[NamedPlace], words: PlaceWords) -> Landmarks:
        """The landmarks of a programme; no rows at all still gives roles and frames."""
        return cls(tuple(rows), words)

    def mentions(self, tokens: Sequence[Token], asked: bool) -> list[Mention]:
        """The names in a text, in order, none overlapping."""
        found = (
            self._judged(tokens, hit, asked) for hit in self._tree.find(tokens, self.words.short)
        )
        return [mention for mention in found if mention is not None]

    def _judged(self, tokens: Sequence[Token], hit: Hit, asked: bool) -> Mention | None:
        spelt = [self._spelt[row] for row in hit.rows]
        strong = [s for s in spelt if not s.weak]
        kept = strong or [s for s in spelt if not s.part] or spelt
        is_part = all(s.part for s in kept)
        placed = bool(strong) or self._is_placed(tokens, hit, asked and not is_part)
        if not placed or (not strong and hit.slips and not _same_start(tokens[hit.first], kept)):
            return None
        landmarks = tuple(sorted({s.landmark for s in kept}))
        return Mention(hit.first, hit.last, landmarks, hit.slips, self._doubt(tokens, hit, kept))

    def _doubt(self, tokens: Sequence[Token], hit: Hit, kept: Sequence[Spelt]) -> str:
        if len({s.landmark for s in kept}) > 1:
            return "which_landmark" if hit.slips or kept[0].part else "two_landmarks"
        if kept[0].part or self._goes_on(tokens, hit, kept[0]):
            return "which_landmark"
        letters = min(sum(map(len, s.words)) for s in kept)
        if hit.slips > 1 or (hit.slips and (kept[0].weak or letters < _SURE_FROM)):
            return "which_landmark"
        return ""

    def _goes_on(self, tokens: Sequence[Token], hit: Hit, spelt: Spelt) -> bool:
        """Whether a word right before or after makes it another thing."""
        words = self.words
        if hit.last < len(tokens) and tokens[hit.last].mark in {"", "-"}:
            following = words.short.get(tokens[hit.last].key, tokens[hit.last].key)
            own = self.places[spelt.landmark].kind
            if following in words.differs and following != words.short.get(own, own):
                return True
        if not hit.first or tokens[hit.first].mark not in {"", "-", "."}:
            return False
        before = words.short.get(tokens[hit.first - 1].key, tokens[hit.first - 1].key)
        return before in words.other_thing and not self._is_compass_of(tokens, hit.first - 1)

    def _is_compass_of(self, tokens: Sequence[Token], at: int) -> bool:
        """A compass word after a distance is an offset: "3 km north Brindle Hut"."""
        found = self.words.beside.at(tokens, at, at + 1)
        if found is None or "compass" not in found[1]:
            return False
        return any(t.key[0].isdigit() for t in tokens[max(0, at - 4) : at])

    def _is_placed(self, tokens: Sequence[Token], hit: Hit, asked: bool) -> bool:
        """Whether a short name stands where a place would."""
        first = hit.first
        while first and tokens[first].mark == "" and tokens[first - 1].key in self.words.fillers:
            if tokens[first - 1].key in self.words.position:
                return True
            first -= 1
        if (
            first
            and tokens[first - 1].key in self.words.conjunction
            and any(t.key in self.words.pair for t in tokens[max(0, first - 8) : first])
        ):
            return True
        opens = first == 0 or tokens[first].mark in {",", "."}
        if asked or (not opens and tokens[first - 1].key in self.words.position):
            return True
        after = tokens[hit.last] if hit.last < len(tokens) else None
        closes = after is None or after.mark in {",", "."} or self._is_outside(after.key)
        return closes and (opens or (after is not None and after.key == "end"))

    def _is_outside(self, key: str) -> bool:
        words = self.words
        return key[0].isdigit() or key in words.after or words.short.get(key, key) in words.differs


def _same_start(token: Token, kept: Sequence[Spelt]) -> bool:
    return any(token.key[:1] == s.words[0][:1] for s in kept)


# ----------------------------------------------------------------------------------- reading


def read_landmarks(page: Page, scene: Scene) -> tuple[Claim, ...]:
    """The landmarks of a text, alone or with an offset, struck from the page as they are read."""
    landmarks = scene.landmarks
    if landmarks is None or not landmarks.places:
        return ()
    tokens = tokens_of(page.left)
    mentions = landmarks.mentions(tokens, scene.asked in _ASKED)
    if not mentions:
        return ()
    line = Line(tokens, [(m.first, m.last) for m in mentions], landmarks.words)
    beside = Beside(line, landmarks.words)
    plans = [beside.plan(number) for number in range(len(mentions))]
    return tuple(_Reading(page, scene, landmarks, tokens, mentions, plans).claims())


@dataclass(frozen=True, slots=True)
class _Reading:
    """One text: its names, and what each one's words say."""

    page: Page
    scene: Scene
    landmarks: Landmarks
    tokens: Sequence[Token]
    mentions: Sequence[Mention]
    plans: Sequence[Plan]

    def claims(self) -> Iterator[Claim]:
        """What each name gives, in order; the stretch of each is struck."""
        taken = 0
        for number, (mention, plan) in enumerate(zip(self.mentions, self.plans, strict=True)):
            # A name may be only the way to the next one: "2 km up Sandy Creek from the hut".
            coming = self.plans[number + 1] if number + 1 < len(self.plans) else None
            if mention.first < taken or (coming and coming.start <= mention.first):
                continue
            last = max(plan.last, self.plans[plan.either].last if plan.either >= 0 else 0)
            stretch = self.tokens[max(plan.start, taken)].start, self.tokens[last - 1].end
            taken = last
            self.page.strike(*stretch)
            if plan.how != "not" and not self._is_ground(number):
                yield self._claim(mention, plan, stretch)

    def _is_ground(self, number: int) -> bool:
        """Whether a long thing is only what another place lies on: "on Tallow Track, 3 km N of
        Brindle Hut", "near Brindle Hut on Tallow Track"."""
        mention, plan = self.mentions[number], self.plans[number]
        reach = min(self.landmarks.spots[n].radius_m for n in mention.landmarks)
        if plan.how != "at" or plan.either >= 0 or reach < LONG_M:
            return False
        beside = []
        if number + 1 < len(self.plans):
            beside.append((plan.last, self.plans[number + 1].start, self.plans[number + 1]))
        if number:
            beside.append((self.plans[number - 1].last, plan.start, self.plans[number - 1]))
        return any(p.how in _FIXING and self._are_joined(a, b) for a, b, p in beside)

    def _are_joined(self, first: int, last: int) -> bool:
        """Whether nothing but words of place lies between two stretches of one sentence."""
        if last - first > 2 or any(t.mark == "." for t in self.tokens[first : last + 1]):
            return False
        return all(self._is_small(at) for at in range(first, last))

    def _is_small(self, at: int) -> bool:
        words = self.landmarks.words
        found = words.beside.at(self.tokens, at, at + 1)
        return self.tokens[at].key in words.position or (found is not None and "gap" in found[1])

    def _claim(self, mention: Mention, plan: Plan, stretch: tuple[int, int]) -> Claim:
        heard = self.page.heard(*stretch)
        if plan.how == "asked":
            return Unclear("place", "how_far", heard, (), *stretch)
        places = self._places(mention, plan)
        doubt = mention.doubt or (self.mentions[plan.other].doubt if plan.other >= 0 else "")
        if plan.either >= 0:
            places += self._places(self.mentions[plan.either], self.plans[plan.either])
        if len(places) == 1 and not doubt:
            return Found(places[0], heard, *stretch)
        language = self.scene.languages[0]
        choices = tuple(
            Choice(name_place(p, self.landmarks, language), p) for p in places[:_MOST_CHOICES]
        )
        return Unclear("place", doubt or "two_landmarks", heard, choices, *stretch)

    def _places(self, mention: Mention, plan: Plan) -> list[Place]:
        seconds = self.mentions[plan.other].landmarks if plan.other >= 0 else (-1,)
        return [
            self._place(one, two, plan, mention.slips > 0)
            for one in mention.landmarks
            for two in seconds
            if one != two
        ]

    def _place(self, one: int, two: int, plan: Plan, misspelt: bool) -> Place:
        marks, words = self.landmarks, self.landmarks.words
        got = fix(plan, marks.spots[one], marks.spots[two] if two >= 0 else None)
        # "The X end of Y" is on Y; of two other names the first is the anchor.
        name = marks.places[two if plan.how == "end" else one].name
        keys = ["spelling"] * misspelt + [got.left_open] * bool(got.left_open)
        assumed = tuple(words.assume(self.scene.languages[0], k, landmark=name) for k in keys)
        notation = "landmark" if plan.how == "at" else f"landmark_{plan.how}"
        return Place(got.lat, got.lon, got.accuracy_m, notation, assumed, "", name)
