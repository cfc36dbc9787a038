"""A text cut into the parts over which a negation, a site and a look belong together.

Cuts stand at commas and stops, and at "but", "and", "or". A part knows what it names, whether it
is negated, and how it was joined to the one before.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from typing import Literal, NamedTuple

from bot.reading.listening import Listening
from bot.reading.phrases import COMMA, STOP, Hit, Term

State = Literal["clear", "not_found", "not_looked"]
Joined = Literal["and", "or", "comma", "but", "except", "stop"]

_WEIGHT: dict[Joined, int] = {"and": 0, "or": 1, "comma": 2, "but": 3, "except": 4, "stop": 5}
_JOINING: tuple[Joined, ...] = ("except", "but", "or", "and")
_JOINS = frozenset(_JOINING)
_STATES: tuple[State, ...] = ("not_found", "not_looked")
_TELLING = frozenset(
    {"site", "look", "side", "not", "clear", "all_clear", "doubt", "person_part", *_STATES}
)
"""Kinds of phrases that a part is made of."""

BARE = frozenset({"site", "side", *_JOINING})
"""Kinds of phrases that a bare list of places in the body is made of."""

_BESIDE = 3
"""Tokens that may stand between a site and a word that counts only beside one."""

_REACH = 2
"""Words that may stand between a negation and what it denies ("no really obvious lumps")."""

_AFTER = ("nothing", "bare")
"""Negations that may stand after what they deny."""

Said = dict[str, list[tuple[Hit, Term]]]


class Part(NamedTuple):
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
    """The parts of a text that say something about a sign, in order."""
    group: list[Hit] = []
    joined: Joined = "stop"
    at, bare = 0, True
    for hit, behind in zip_longest(heard.hits, heard.hits[1:]):
        cut = _cut(heard, at, hit)
        at = hit.last
        if cut is not None:
            if group:
                yield _part(group, joined, bare)
                group, joined, bare = [], cut, True
            elif _WEIGHT[cut] > _WEIGHT[joined]:
                joined = cut
        if behind is not None and _is_kept(heard, hit, behind):
            bare = False
        elif _TELLING.isdisjoint(hit.meaning.kinds):
            bare = bare and not _JOINS.isdisjoint(hit.meaning.kinds)
        else:
            group.append(hit)
    if group:
        yield _part(group, joined, bare)


def _is_kept(heard: Listening, hit: Hit, behind: Hit) -> bool:
    """Whether it is the head as a thing that is kept ("lump in jaw yest 6pm head in freezer")."""
    site = hit.of("site")
    if site is None or not site.shade or "storage" not in behind.meaning.kinds:
        return False
    between = heard.tokens[hit.last : behind.first + 1]
    return len(between) <= 2 and not any(token.before for token in between)


def _cut(heard: Listening, at: int, hit: Hit) -> Joined | None:
    """The cut before a phrase: its own, if it joins, or that of the marks since token `at`."""
    written: Joined | None = None
    for token in heard.tokens[at : hit.first + 1]:
        before = token.before
        if before == STOP:
            written = "stop"
        elif before == COMMA and written is None:
            written = "comma"
    kinds = hit.meaning.kinds
    if _JOINS.isdisjoint(kinds):
        return written
    for own in _JOINING:
        if own in kinds and (written is None or own == "or" or _WEIGHT[own] > _WEIGHT[written]):
            return own
    return written


def _part(group: list[Hit], joined: Joined, bare: bool) -> Part:
    said: Said = {}
    for hit in group:
        for kind, term in hit.meaning.kinds.items():
            said.setdefault(kind, []).append((hit, term))
    sited = said.get("site", ())
    sites = tuple(dict.fromkeys([term.key for _, term in sited])) if sited else ()
    if len(sites) > 1:
        # "The gland under the jaw" is one node, and the jaw says which.
        sites = tuple(site for site in sites if site != "gland")
    affirmed, denied = _looks(group, said) if "look" in said else ((), ())
    looks = affirmed or denied
    negators = [term.key for _, term in said.get("not", ())]
    return Part(
        first=group[0].first,
        last=group[-1].last,
        joined=joined,
        sites=sites,
        looks=looks,
        side=_side(said),
        negated=bool(denied and not affirmed),
        state=_state(said, bool(sites), bool(looks), negators),
        person="person_part" in said,
        named=any(not term.shade for _, term in sited),
        fine="clear" in said and not negators and not looks,
        bare=bare and said.keys() <= BARE,
    )


def _looks(group: list[Hit], said: Said) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The looks that a part affirms and those it denies; a loose word (big, white) counts only
    where no plainer one stands.

    A negation reaches forward to what stands close ("no lumps or pus"), never back ("swollen,
    without pus"), but for a bare "none" at the end ("lumps: none").
    """
    plain = any(not term.shade for _, term in said.get("look", ()))
    affirmed: list[str] = []
    denied: list[str] = []
    reach: int | None = None
    for hit in group:
        look, negator = hit.of("look"), hit.of("not")
        near = reach is not None and hit.first - reach <= _REACH
        reach = hit.last if near or negator else None
        if negator is not None:
            # "Lumps? Nah, none": two negations side by side deny what stands before them.
            if hit is group[-1] and negator.key in _AFTER and not (near and denied):
                affirmed, denied = [], affirmed + denied
        elif look is not None and (not look.shade or (not plain and _is_beside(hit, said))):
            (denied if near else affirmed).append(look.key)
    return tuple(dict.fromkeys(affirmed)), tuple(dict.fromkeys(denied))


def _is_beside(hit: Hit, said: Said) -> bool:
    """Whether a site that is named outright stands right by this phrase."""
    return any(
        not site.shade and max(other.first - hit.last, hit.first - other.last) <= _BESIDE
        for other, site in said.get("site", ())
    )


def _side(said: Said) -> str:
    sides = {term.key for _, term in said.get("side", ())}
    return "both" if len(sides) > 1 else next(iter(sides), "")


def _state(said: Said, sites: bool, looks: bool, negators: list[str]) -> State | None:
    """What the part says of what was looked at. A look outweighs every "fine"."""
    if sites:
        for state in _STATES:
            if state in said:
                return state
    if looks:
        return None
    if "all_clear" in said or (sites and "nothing" in negators):
        return "clear"
    return "clear" if sites and "clear" in said and not negators else None
