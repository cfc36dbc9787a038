"""All places of one text, settled: short codes completed, each checked against the area, told
apart by role, and the same place said twice made one.

A role is the kill place or the pickup place, from the words around; "" leaves it to the talk.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from bot.reading.area import plausible
from bot.reading.claims import Claim
from bot.reading.describe import bearing_and_distance, name_place
from bot.reading.notations import find_notations
from bot.reading.page import Page
from bot.reading.place_words import PlaceWords
from bot.reading.pluscode import short_codes
from bot.reading.scene import Scene
from bot.reading.values import Choice, Found, Place, Role, Unclear

_NEAR_BY = 4
"""Words between a place and what tells of the head after it ("... is where you can pick up")."""
_ROLES: dict[str, Role] = {"kill": "kill", "pickup": "pickup", "neutral": ""}
_ASKED: dict[str, Role] = {"kill_place": "kill", "head_at": "pickup", "pickup_place": "pickup"}
_BESIDE = 8
"""Characters between a short code and the landmark that completes it: "CJ+2VX near X"."""


class Cue(NamedTuple):
    """A word that tells a place's role, and where it stands."""

    start: int
    end: int
    role: Role


def settle_places(
    page: Page, scene: Scene, found: Sequence[Claim]
) -> tuple[tuple[Found[Place], ...], tuple[Unclear, ...]]:
    """The places of a text in its order, and what must be asked about places."""
    claims = sorted(_with_short_codes(page, scene, found), key=lambda c: c.start)
    claims = [_checked(claim, scene) for claim in claims]
    roles = _roles(page, scene, claims)
    given = [_with_role(claim, role) for claim, role in zip(claims, roles, strict=True)]
    places = _once([c for c in given if isinstance(c, Found)])
    return places, tuple(c for c in given if isinstance(c, Unclear))


def _checked(claim: Claim, scene: Scene) -> Claim:
    if isinstance(claim, Found):
        return plausible(claim, scene, lambda text: _reread(text, scene))
    return replace(claim, choices=tuple(_worded(c, scene) for c in claim.choices))


def _worded(choice: Choice, scene: Scene) -> Choice:
    """A choice of figures, with the landmark by which a person knows the place."""
    place = choice.value
    if not isinstance(place, Place) or place.landmark or not scene.landmarks:
        return choice
    return replace(choice, words=name_place(place, scene.landmarks, scene.languages[0]))


def _reread(text: str, scene: Scene) -> Iterator[Place]:
    for claim in find_notations(Page(text), scene):
        if isinstance(claim, Found):
            yield claim.value


# -------------------------------------------------------------------------------- short codes


def _with_short_codes(page: Page, scene: Scene, found: Sequence[Claim]) -> Iterator[Claim]:
    """A short plus code is completed from the text's one landmark, which it then stands for."""
    named = [c for c in found if isinstance(c, Found) and c.value.landmark]
    near = (named[0].value.lat, named[0].value.lon) if len(named) == 1 else None
    codes = short_codes(page, scene, near)
    for claim in found:
        if not (near and claim is named[0] and any(_adjoin(claim, code) for code in codes)):
            yield claim
    yield from codes


def _adjoin(one: Claim, two: Claim) -> bool:
    return max(one.start, two.start) - min(one.end, two.end) <= _BESIDE


# -------------------------------------------------------------------------------------- roles


def _roles(page: Page, scene: Scene, claims: Sequence[Claim]) -> list[Role]:
    """The role of each claim from the words around it, else from the open question."""
    words = scene.words.places if scene.words else scene.landmarks and scene.landmarks.words
    asked = _ASKED.get(scene.asked, "")
    if not words or not claims:
        return [asked] * len(claims)
    cues, breaks = _cues(page, words)
    roles: list[Role] = []
    for number, claim in enumerate(claims):
        role = _role(claim, claims, [c for c in cues if _may_tell(page, claim, c)], breaks)
        if (
            role is None
            and number
            and not page.plain[claims[number - 1].end : claim.start].strip(" ,")
        ):
            role = roles[-1]  # The same place said once more: "Tallow Saddle, -36.93 147.21".
        roles.append(asked if role is None else role)
    return roles


def _cues(page: Page, words: PlaceWords) -> tuple[list[Cue], list[int]]:
    """The role words of a text, and where its clauses begin."""
    firsts = words.roles.firsts
    keys, starts, ends, marks = tokens = page.tokens
    cues: list[Cue] = []
    taken = 0
    for at in [at for at, key in enumerate(keys) if key in firsts]:
        if at >= taken and (hit := words.roles.at(tokens, at, len(keys))):
            taken = hit[0]
            cues.append(Cue(starts[at], ends[taken - 1], _ROLES[hit[1]]))
    breaks = [start for start, mark in zip(starts, marks, strict=True) if mark and mark in ",."]
    return cues, breaks


def _may_tell(page: Page, claim: Claim, cue: Cue) -> bool:
    """Where the head is stands close by the place that it tells of, if it comes after it: "-36.90
    147.15 boar, lumps in the lungs, head in freezer" says no more than where the boar was. A time
    between them is that of the death there."""
    if cue.start < claim.end or cue.role != "pickup":
        return True
    between = page.plain[claim.end : cue.start]
    return len(between.split()) <= _NEAR_BY and not any(c.isdigit() for c in between)


def _role(
    claim: Claim, claims: Sequence[Claim], cues: Sequence[Cue], breaks: Sequence[int]
) -> Role | None:
    """By the nearest role word before it in its clause, else after it there, else in an earlier
    clause that has no place of its own. None where no word tells."""
    clause = bisect_right(breaks, claim.start)
    before = [c for c in cues if c.start < claim.start]
    if before and bisect_right(breaks, before[-1].start) == clause:
        return before[-1].role
    clause = bisect_right(breaks, claim.end - 1)
    after = next((c for c in cues if c.start >= claim.end), None)
    beside = after is not None and bisect_right(breaks, after.start) == clause
    if after and beside and not _leads_on(claim, claims, cues, breaks):
        return after.role
    if not before:
        return None
    told = bisect_right(breaks, before[-1].start)
    others = {bisect_right(breaks, c.start) for c in claims if c is not claim}
    return None if told in others else before[-1].role


def _leads_on(
    claim: Claim, claims: Sequence[Claim], cues: Sequence[Cue], breaks: Sequence[int]
) -> bool:
    """Whether what is said after a place is said of the next one in the same clause: "Pell Hut
    yesterday, head in the freezer at Orrin Hut" without its comma."""
    follow = next((c for c in claims if c.start >= claim.end), None)
    if follow is None or bisect_right(breaks, follow.start) != bisect_right(breaks, claim.end - 1):
        return False
    between = {c.role for c in cues if claim.end <= c.start < follow.start}
    return len(between) == 1


def _with_role(claim: Claim, role: Role) -> Claim:
    if isinstance(claim, Found):
        return replace(claim, value=replace(claim.value, role=role))
    choices = (
        replace(c, value=replace(c.value, role=role)) if isinstance(c.value, Place) else c
        for c in claim.choices
    )
    return replace(claim, choices=tuple(choices))


# ---------------------------------------------------------------------------- said twice is one


def _once(places: Iterable[Found[Place]]) -> tuple[Found[Place], ...]:
    """Places of one role that lie within the looser one's accuracy are one: the closer is kept."""
    kept: list[Found[Place]] = []
    for place in places:
        twin = next((n for n, k in enumerate(kept) if _are_one(k.value, place.value)), -1)
        if twin < 0:
            kept.append(place)
        else:
            kept[twin] = _closer(kept[twin], place)
    return tuple(kept)


def _are_one(one: Place, two: Place) -> bool:
    if one.role and two.role and one.role != two.role:
        return False
    metres = bearing_and_distance(one.lat, one.lon, two.lat, two.lon).metres
    return metres <= max(one.accuracy_m, two.accuracy_m)


def _closer(one: Found[Place], two: Found[Place]) -> Found[Place]:
    best = min(one, two, key=lambda f: f.value.accuracy_m)
    role = one.value.role or two.value.role
    landmark = best.value.landmark or one.value.landmark or two.value.landmark
    return replace(best, value=replace(best.value, role=role, landmark=landmark))
