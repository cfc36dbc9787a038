"""The programme's named places, found in a text however they are spelt, with what stands beside.

Built once from the landmarks and the words of places.toml. Never a pick between two: a name that
stands twice, a part of a name, a name that goes on ("Sandy Creek Road") is Unclear with choices.
A short name ("the saddle", "Brindle") counts only after a word of place, alone, or when asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np

from bot.reading.beside import Beside
from bot.reading.claims import Claim
from bot.reading.landmark_claims import Claims, Mention
from bot.reading.line import Line
from bot.reading.name_forms import NamedPlace, Spelt, drop_shadowed_parts, kept_name, spellings
from bot.reading.offsets import Spot
from bot.reading.page import Page
from bot.reading.place_tokens import Tokens, tokens_of
from bot.reading.place_words import PlaceWords
from bot.reading.scene import Scene
from bot.reading.spelling import Hit, NameTree

_ASKED = frozenset({"kill_place", "head_at", "pickup_place"})
_ENDS = frozenset((",", ".", "-", "/"))
_PERSON = "name"
"""The question whose bare answer is a person, though a place may be called the same."""
_SURE_FROM = 8
"""Letters from which a name with one slip is still sure; with two it is asked about."""


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
            ((s.words, row) for row, s in enumerate(self._spelt)),
            words.short,
            words.never,
            words.fillers,
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

    def may_stand_in(self, words: Sequence[str]) -> bool:
        """Whether there is a word with which a name may begin: most texts without one have none."""
        return any(map(self._tree.may_begin, words))

    def mentions(self, tokens: Tokens, asked: str = "") -> list[Mention]:
        """The names in a text, in order, none overlapping, with this question open."""
        found = (self._judged(tokens, hit, asked) for hit in self._tree.find(tokens))
        return [mention for mention in found if mention is not None]

    def _judged(self, tokens: Tokens, hit: Hit, asked: str) -> Mention | None:
        spelt = [self._spelt[row] for row in hit.rows]
        strong = [s for s in spelt if not s.weak]
        kept = strong or [s for s in spelt if not s.part] or spelt
        is_part = all(s.part for s in kept)
        placed = bool(strong) or self._is_placed(tokens, hit, is_part, asked)
        if not placed or (
            not strong and hit.slips and not _same_start(tokens.keys[hit.first], kept)
        ):
            return None
        landmarks = tuple(sorted({s.landmark for s in kept}))
        return Mention(hit.first, hit.last, landmarks, hit.slips, self._doubt(tokens, hit, kept))

    def _doubt(self, tokens: Tokens, hit: Hit, kept: Sequence[Spelt]) -> str:
        if len({s.landmark for s in kept}) > 1:
            return "which_landmark" if hit.slips or kept[0].part else "two_landmarks"
        if kept[0].part or self._goes_on(tokens, hit, kept[0]):
            return "which_landmark"
        letters = min(sum(map(len, s.words)) for s in kept)
        if hit.slips > 1 or (hit.slips and (kept[0].weak or letters < _SURE_FROM)):
            return "which_landmark"
        return ""

    def _goes_on(self, tokens: Tokens, hit: Hit, spelt: Spelt) -> bool:
        """Whether a word right before or after makes it another thing."""
        words, (keys, _, _, marks) = self.words, tokens
        if hit.last < len(keys) and marks[hit.last] in {"", "-"}:
            following = words.short.get(keys[hit.last], keys[hit.last])
            own = self.places[spelt.landmark].kind
            if following in words.differs and following != words.short.get(own, own):
                return True
        if not hit.first or marks[hit.first] not in {"", "-", "."}:
            return False
        before = words.short.get(keys[hit.first - 1], keys[hit.first - 1])
        return before in words.other_thing and not self._is_compass_of(tokens, hit.first - 1)

    def _is_compass_of(self, tokens: Tokens, at: int) -> bool:
        """A compass word after a distance is an offset: "3 km north Brindle Hut"."""
        found = self.words.beside.at(tokens, at, at + 1)
        if found is None or "compass" not in found[1]:
            return False
        return any(key[0].isdigit() for key in tokens.keys[max(0, at - 4) : at])

    def _is_placed(self, tokens: Tokens, hit: Hit, part: bool, asked: str) -> bool:
        """Whether a short name stands where a place would."""
        first, (keys, _, _, marks) = hit.first, tokens
        while first and marks[first] == "" and keys[first - 1] in self.words.fillers:
            if keys[first - 1] in self.words.position:
                return True
            first -= 1
        if (
            first
            and keys[first - 1] in self.words.conjunction
            and not self.words.pair.isdisjoint(keys[max(0, first - 8) : first])
        ):
            return True
        opens = first == 0 or marks[first] in _ENDS
        if (asked in _ASKED and not part) or (not opens and keys[first - 1] in self.words.position):
            return True
        if asked == _PERSON:
            return False
        after = keys[hit.last] if hit.last < len(keys) else ""
        closes = not after or marks[hit.last] in _ENDS or self._is_outside(after)
        return closes and (opens or after == "end")

    def _is_outside(self, key: str) -> bool:
        words = self.words
        return key[0].isdigit() or key in words.after or words.short.get(key, key) in words.differs


def _same_start(key: str, kept: Sequence[Spelt]) -> bool:
    return any(key[:1] == s.words[0][:1] for s in kept)


# ----------------------------------------------------------------------------------- reading


def read_landmarks(page: Page, scene: Scene) -> tuple[Claim, ...]:
    """The landmarks of a text, alone or with an offset, struck from the page as they are read."""
    landmarks = scene.landmarks
    if landmarks is None or not landmarks.places:
        return ()
    scan = page.scan
    if not landmarks.may_stand_in(scan.words):
        return ()
    tokens = page.tokens if scan is page.whole else tokens_of(scan)
    mentions = landmarks.mentions(tokens, scene.asked)
    if not mentions:
        return ()
    line = Line(tokens, [(m.first, m.last) for m in mentions], landmarks.words)
    beside = Beside(line, landmarks.words)
    plans = [beside.plan(number) for number in range(len(mentions))]
    return tuple(Claims(page, scene, landmarks, tokens, mentions, plans).read())
