"""The programme's named places, found in a text however they are spelt, with what stands beside.

Built once from the landmarks and the words of places.toml. Never a pick between two: a name that
stands twice, a part of a name, a name that goes on ("Sandy Creek Road") is Unclear with choices.
A short name ("the saddle", "Brindle") counts only after a word of place, alone, or when asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from bot.reading.beside import Line
from bot.reading.describe import name_place
from bot.reading.name_forms import NamedPlace, Spelt, drop_shadowed_parts, kept_name, spellings
from bot.reading.offsets import Fix, Plan, Spot, fix
from bot.reading.page import Page
from bot.reading.place_tokens import Token, tokens_of
from bot.reading.place_words import PlaceWords
from bot.reading.scene import Scene
from bot.reading.spelling import Hit, NameTree
from bot.reading.values import Choice, Found, Place, Unclear

_ASKED = frozenset({"kill_place", "pickup_place"})
_MOST_CHOICES = 4
_SURE_FROM = 8
"""Letters from which a name with one slip is still sure; two slips need half as many again."""


class Mention(NamedTuple):
    """A name in the text, the landmarks that it may be, and why it is in doubt ("" it is not)."""

    first: int
    last: int
    landmarks: tuple[int, ...]
    slips: int
    doubt: str


class Landmarks:
    """All landmarks of a programme, ready to be found and to be named."""

    __slots__ = ("_spelt", "_tree", "places", "spots", "twins", "words")

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
        self.twins = frozenset(n for n, name in enumerate(names) if names.count(name) > 1)
        """Landmarks whose name stands twice: no use for naming another place by."""

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
        if hit.slips and (kept[0].weak or letters < _SURE_FROM * (hit.slips + 1) / 2):
            return "which_landmark"
        return ""

    def _goes_on(self, tokens: Sequence[Token], hit: Hit, spelt: Spelt) -> bool:
        """Whether a word right before or after makes it another thing."""
        words = self.words
        if hit.last < len(tokens) and tokens[hit.last].mark in {"", "-"}:
            following = words.short.get(tokens[hit.last].key, tokens[hit.last].key)
            if following in words.differs:
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


def read_landmarks(page: Page, scene: Scene) -> tuple[Found[Place] | Unclear, ...]:
    """The landmarks of a text, alone or with an offset, struck from the page as they are read."""
    landmarks = scene.landmarks
    if landmarks is None or not landmarks.places:
        return ()
    tokens = tokens_of(page.left)
    mentions = landmarks.mentions(tokens, scene.asked in _ASKED)
    if not mentions:
        return ()
    line = Line(tokens, [(m.first, m.last) for m in mentions], landmarks.words)
    return tuple(_read(page, scene, landmarks, tokens, mentions, line))


def _read(
    page: Page,
    scene: Scene,
    landmarks: Landmarks,
    tokens: Sequence[Token],
    mentions: Sequence[Mention],
    line: Line,
) -> Iterator[Found[Place] | Unclear]:
    plans = [line.plan(number) for number in range(len(mentions))]
    taken = 0
    for number, (mention, plan) in enumerate(zip(mentions, plans, strict=True)):
        # A name may be only the way to the next one: "2 km up Sandy Creek from the hut".
        is_way = number + 1 < len(plans) and plans[number + 1].start <= mention.first
        if mention.first < taken or is_way:
            continue
        start, end = tokens[max(plan.start, taken)].start, tokens[plan.last - 1].end
        taken = plan.last
        other = mentions[plan.other] if plan.other >= 0 else None
        yield _answer(page, scene, landmarks, mention, other, plan, (start, end))
        page.strike(start, end)


def _answer(
    page: Page,
    scene: Scene,
    landmarks: Landmarks,
    mention: Mention,
    other: Mention | None,
    plan: Plan,
    stretch: tuple[int, int],
) -> Found[Place] | Unclear:
    heard = page.heard(*stretch)
    if plan.how == "asked":
        return Unclear("place", "how_far", heard, (), *stretch)
    seconds = other.landmarks if other else (-1,)
    places = [
        _place(scene, landmarks, one, two, plan, bool(mention.slips))
        for one in mention.landmarks
        for two in seconds
        if one != two
    ][:_MOST_CHOICES]
    doubt = mention.doubt or (other.doubt if other else "")
    if len(places) == 1 and not doubt:
        return Found(places[0], heard, *stretch)
    choices = tuple(Choice(name_place(p, landmarks, scene.languages[0]), p) for p in places)
    return Unclear("place", doubt or "two_landmarks", heard, choices, *stretch)


def _place(
    scene: Scene, landmarks: Landmarks, one: int, two: int, plan: Plan, misspelt: bool
) -> Place:
    got: Fix = fix(plan, landmarks.spots[one], landmarks.spots[two] if two >= 0 else None)
    # "The Brindle end of Tallow Track" is on the track; of two others the first is the anchor.
    anchor = two if plan.how == "end" else one
    name, language = landmarks.places[anchor].name, scene.languages[0]
    assumed = []
    if misspelt:
        assumed.append(landmarks.words.assume(language, "spelling", landmark=name))
    if got.left_open:
        assumed.append(landmarks.words.assume(language, got.left_open, landmark=name))
    notation = "landmark" if plan.how == "at" else f"landmark_{plan.how}"
    return Place(got.lat, got.lon, got.accuracy_m, notation, tuple(assumed), "", name)
