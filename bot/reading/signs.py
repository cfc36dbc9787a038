"""What was seen on the animal: sites, looks and sides; and what was looked at and found clear.

Doubt counts as a sign ("probably just an abscess"), a plain negation never does ("no lumps").
A text is cut into parts at its commas, stops and small joining words; a negation reaches as far
as its own part, over "or", and over a bare list of looks, and no further.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from bot.reading.animals import found_dead
from bot.reading.listening import Listening
from bot.reading.parts import BARE, Part, parts_of
from bot.reading.phrases import Hit
from bot.reading.values import Animal, Checked, Found, Side, Sign

ASKED = "seen"
"""The key of the question to which a bare site ("behind the tongue") is an answer."""

_TELLING = {"look", "site", "all_clear"}
"""Kinds of phrases without which a text says nothing of signs."""

SignsRead = tuple[tuple[Found[Sign], ...], tuple[Found[Checked], ...]]


def read_signs(heard: Listening, animal: Found[Animal] | None, asked: str = "") -> SignsRead:
    """Every sign and everything that was looked at, in the order of the text."""
    signs: list[Found[Sign]] = []
    checked: list[Found[Checked]] = []
    before: Part | None = None
    for written in parts_of(heard) if _TELLING & heard.kinds.keys() else ():
        part = _inherit(written, before)
        if part.negated or part.state:
            checked += _checked(heard, part)
        elif part.looks or asked == ASKED:
            signs += _signs(heard, part, asked)
        if part.tells:
            before = part
    signs += _dead(heard, animal)
    first = {found.value: found for found in reversed(checked)}
    return _unique(signs), tuple(sorted(first.values(), key=lambda found: found.start))


def _inherit(part: Part, before: Part | None) -> Part:
    """What a part takes over from the one before it: sites, a look, a state, a negation."""
    if before is None:
        return part
    if part.joined == "stop":
        # "Pus. Jaw." is one thing said in two words.
        told = part.bare and part.sites and before.looks and not before.sites and not before.negated
        return part._replace(looks=before.looks) if told and before.last == part.first else part
    sites = _inherited_sites(part, before)
    if part.joined == "except" and not (part.looks or part.state or part.negated):
        odd = (before.looks or ("odd",)) if part.sites or part.side else ()
        return part._replace(sites=part.sites or before.sites, looks=odd)
    if part.joined in ("but", "except") or part.state or part.negated:
        return part._replace(sites=sites)
    if part.looks:
        return part._replace(sites=sites, negated=_reaches(part, before))
    if part.fine and part.side and before.sites:
        return part._replace(sites=before.sites, state="clear")
    if part.bare and part.side and not part.sites:
        part = part._replace(sites=before.sites)
    if part.bare and part.sites and (before.sites or not before.negated):
        return part._replace(looks=before.looks, state=before.state, negated=before.negated)
    return part._replace(sites=sites)


def _inherited_sites(part: Part, before: Part) -> tuple[str, ...]:
    """ "Lungs and liver full of lumps": sites that wait for their look. "Left gland big, right one
    fine": the site that the second side shares."""
    says = bool(part.looks or part.state)
    waiting = before.sites if not before.looks and not before.state else ()
    if waiting and says and part.joined == "and":
        return tuple(dict.fromkeys((*waiting, *part.sites)))
    if part.sites or not says:
        return part.sites
    return before.sites if part.side else waiting


def _reaches(part: Part, before: Part) -> bool:
    """Whether the negation before still holds: over "or", and over a bare list of looks."""
    if part.joined == "or":
        return before.negated or before.state == "clear"
    return before.negated and part.joined == "comma" and not part.sites


def _checked(heard: Listening, part: Part) -> Iterator[Found[Checked]]:
    state = part.state or "clear"
    for site in part.sites or ("",):
        if part.person:
            continue
        start, end = heard.stretch(part.first, part.last)
        value = Checked(site, cast(Side, part.side), state)
        yield Found(value, heard.page.heard(start, end), start, end)


def _signs(heard: Listening, part: Part, asked: str) -> Iterator[Found[Sign]]:
    if part.person:
        return
    answers = asked == ASKED and part.sites and (part.named or _only_sites(heard))
    looks = part.looks or (("",) if answers else ())
    start, end = heard.stretch(part.first, part.last)
    words = heard.page.heard(start, end)
    for look in looks:
        allowed = heard.words.looks[look].sites if look else []
        sites = [s for s in part.sites if s != "rest" and (not allowed or s in allowed)]
        if allowed and not sites:
            continue
        for site in sites or ["animal" if look in _OF_THE_ANIMAL else ""]:
            yield Found(Sign(site, cast(Side, part.side), look), words, start, end)


def _only_sites(heard: Listening) -> bool:
    """Whether a text is sites and sides and nothing else ("jaw", "left jaw and throat"): a jaw is
    not something to carry home then, but the answer to where it was."""
    told = sum(hit.last - hit.first for hit in heard.hits if not BARE.isdisjoint(hit.meaning.kinds))
    return told == len(heard.tokens)


_OF_THE_ANIMAL = frozenset({"thin", "sick"})


def _dead(heard: Listening, animal: Found[Animal] | None) -> Iterator[Found[Sign]]:
    """Found dead, and several found dead, are signs of their own."""
    if not found_dead(heard):
        return
    hit = next(hit for hit, term in heard.of("dead") if term.key != "shot")
    start, end = heard.stretch(hit.first, hit.last)
    several = animal is not None and animal.value.count > 1
    many = several or any(_is_next_to(heard, other, hit) for other, _ in heard.of("many"))
    many = many or _number_before(heard, hit)
    words = heard.page.heard(start, end)
    yield Found(Sign("many" if many else "animal", "", "dead"), words, start, end)


def _is_next_to(heard: Listening, many: Hit, dead: Hit) -> bool:
    return 0 <= dead.first - many.last <= 3 and not any(
        t.before == "." for t in heard.tokens[many.last : dead.first + 1]
    )


def _number_before(heard: Listening, dead: Hit) -> bool:
    """ "six dead": a number right before the word."""
    if dead.first == 0 or heard.tokens[dead.first].before:
        return False
    return (heard.number(dead.first - 1) or 0) > 1


def _unique(signs: list[Found[Sign]]) -> tuple[Found[Sign], ...]:
    """Each sign once; one that lacks its site or side gives way to the same sign with it."""
    kept: dict[Sign, Found[Sign]] = {}
    for one in signs:
        kept.setdefault(one.value, one)
    placed = {sign.look for sign in kept if sign.site}
    sided = {(sign.site, sign.look) for sign in kept if sign.side}
    return tuple(
        found
        for sign, found in kept.items()
        if (sign.site or sign.look not in placed)
        and (sign.side or (sign.site, sign.look) not in sided)
    )
