"""The names of a text and their plans -> places, or questions with the places on offer.

A name that is only the way to another, or the ground it lies on, gives nothing of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from bot.reading.claims import Claim
from bot.reading.describe import name_place
from bot.reading.offsets import LONG_M, Plan, fix
from bot.reading.page import Page
from bot.reading.place_tokens import Tokens
from bot.reading.scene import Scene
from bot.reading.values import Choice, Found, Place, Unclear

if TYPE_CHECKING:
    from bot.reading.landmarks import Landmarks

_FIXING = frozenset({"bearing", "reach", "toward", "between", "near"})
_MOST_CHOICES = 4


class Mention(NamedTuple):
    """A name in the text, the landmarks that it may be, and why it is in doubt ("" it is not)."""

    first: int
    last: int
    landmarks: tuple[int, ...]
    slips: int
    doubt: str


class Claims(Struct, frozen=True):
    """One text: its names, and what each one's words say."""

    page: Page
    scene: Scene
    landmarks: Landmarks
    tokens: Tokens
    mentions: Sequence[Mention]
    plans: Sequence[Plan]

    def read(self) -> Iterator[Claim]:
        """What each name gives, in order; the stretch of each is struck."""
        taken = 0
        for number, (mention, plan) in enumerate(zip(self.mentions, self.plans, strict=True)):
            # A name may be only the way to the next one: "2 km up Sandy Creek from the hut".
            coming = self.plans[number + 1] if number + 1 < len(self.plans) else None
            if mention.first < taken or (coming and coming.start <= mention.first):
                continue
            last = max(plan.last, self.plans[plan.either].last if plan.either >= 0 else 0)
            stretch = self.tokens.starts[max(plan.start, taken)], self.tokens.ends[last - 1]
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
        if last - first > 2 or "." in self.tokens.marks[first : last + 1]:
            return False
        return all(self._is_small(at) for at in range(first, last))

    def _is_small(self, at: int) -> bool:
        words = self.landmarks.words
        found = words.beside.at(self.tokens, at, at + 1)
        return self.tokens.keys[at] in words.position or (found is not None and "gap" in found[1])

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
        reach = plan.metres if plan.how == "reach" else 0.0
        return Place(got.lat, got.lon, got.accuracy_m, notation, assumed, "", name, reach)
