"""A text cut into the parts over which a negation, a site and a look belong together.

Cuts stand at commas and stops, and before "but", "and", "or". A part knows what it names, whether
it is negated, and how it was joined to the one before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bot.reading.listening import Listening
from bot.reading.phrases import Hit, Term

State = Literal["clear", "not_found", "not_looked"]
Joined = Literal["stop", "comma", "but", "and", "or"]

_STATES: tuple[State, ...] = ("not_found", "not_looked")
_JOINING: tuple[Joined, ...] = ("but", "or", "and")
_BESIDE = 3
"""Tokens that may stand between a site and a word that counts only beside one."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part: tokens first to last (exclusive), and what it says."""

    first: int
    last: int
    joined: Joined
    sites: tuple[str, ...] = ()
    looks: tuple[str, ...] = ()
    side: str = ""
    negated: bool = False
    state: State | None = None
    person: bool = False
    """The part is about a person's own body ("my hand is swollen")."""
    named: bool = False
    """It names a site outright, not only a part of the animal."""
    fine: bool = False
    """It says that something was fine; of what, the part before may tell."""
    bare: bool = False
    """It holds sites and sides and nothing else."""

    @property
    def tells(self) -> bool:
        """Whether there is anything in it that the next part could take over."""
        return bool(self.sites or self.looks or self.state or self.negated)


def parts_of(heard: Listening) -> Iterator[Part]:
    """The parts of a text that have any phrase in them, in order."""
    group: list[Hit] = []
    joined: Joined = "stop"
    for hit in heard.hits:
        cut = _cut_before(heard, hit, group)
        if cut is not None:
            if group:
                yield _part(heard, group, joined)
                group, joined = [], cut
            elif _weight(cut) > _weight(joined):
                joined = cut
        word = next((j for j in _JOINING if hit.of(j) is not None), None)
        if word is not None:
            if group:
                yield _part(heard, group, joined)
                group, joined = [], word
            elif joined != "stop":
                joined = word
            if hit.of("not") is None:
                continue
        group.append(hit)
    if group:
        yield _part(heard, group, joined)


def _weight(joined: Joined) -> int:
    return ("and", "or", "comma", "but", "stop").index(joined)


def _cut_before(heard: Listening, hit: Hit, group: list[Hit]) -> Joined | None:
    """The cut that punctuation makes between the last phrase and this one."""
    since = group[-1].last if group else max(hit.first - 1, 0)
    marks = {t.before for t in heard.tokens[since : hit.first + 1]}
    if "." in marks:
        return "stop"
    return "comma" if "," in marks else None


def _part(heard: Listening, group: list[Hit], joined: Joined) -> Part:
    sites: list[str] = []
    looks: list[str] = []
    named = False
    for hit in group:
        site, look = hit.of("site"), hit.of("look")
        if site is not None:
            sites.append(site.key)
            named = named or not site.shade
        if look is not None and (not look.shade or _is_beside(hit, group)):
            looks.append(look.key)
    if len(set(sites)) > 1:
        # "The gland under the jaw" is one node, and the jaw says which.
        sites = [site for site in sites if site != "gland"]
    state = _state(group, bool(sites), bool(looks))
    return Part(
        first=group[0].first,
        last=group[-1].last,
        joined=joined,
        sites=tuple(dict.fromkeys(sites)),
        looks=tuple(dict.fromkeys(looks)),
        side=_side(group),
        negated=_is_negated(group, looks),
        state=state,
        person=any(hit.of("person_part") for hit in group),
        named=named,
        fine=any(hit.of("clear") for hit in group) and not _negators(group) and not looks,
        bare=all(hit.of("site") or hit.of("side") for hit in group),
    )


def _is_beside(hit: Hit, group: list[Hit]) -> bool:
    """Whether a site that is named outright stands right by this phrase, with no animal between."""
    for other in group:
        site = other.of("site")
        if site is None or site.shade:
            continue
        gap = other.first - hit.last if other.first >= hit.last else hit.first - other.last
        if gap <= _BESIDE:
            return True
    return False


def _side(group: list[Hit]) -> str:
    sides = {term.key for hit in group if (term := hit.of("side")) is not None}
    if len(sides) > 1:
        return "both"
    return next(iter(sides), "")


def _state(group: list[Hit], sites: bool, looks: bool) -> State | None:
    """What the part says of what was looked at. A look outweighs every "fine"."""
    for state in _STATES:
        if sites and any(hit.of(state) for hit in group):
            return state
    if looks:
        return None
    if any(hit.of("all_clear") for hit in group):
        return "clear"
    if not sites:
        return None
    negators = _negators(group)
    if any(term.key == "nothing" for term in negators):
        return "clear"
    if any(hit.of("clear") for hit in group) and not negators:
        return "clear"
    return None


def _negators(group: list[Hit]) -> list[Term]:
    return [term for hit in group if (term := hit.of("not")) is not None]


def _is_negated(group: list[Hit], looks: list[str]) -> bool:
    """A negation with a look in its part: "no lumps", "lumps: none". Doubt undoes nothing."""
    return bool(looks) and bool(_negators(group))
