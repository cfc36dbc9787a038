"""What a find is taken for, and what follows: advice, a person, a pickup.

The rule that binds this file: only a sign in the head, where the law lets it move, opens an
ordinary pickup. Doubt counts as a sign, and nothing here is a diagnosis.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bot.programme import Programme
from bot.reading.values import Animal, Choice, Sign
from bot.talk.dialog import Advice, Dialog
from bot.talk.state import Conversation, Seen

KEPT_AS = {"clean": "clean", "found_dead": "found_dead", "many_dead": "found_dead"}


def may_be_stock(choices: Iterable[Choice], dialog: Dialog) -> bool:
    """Whether one of the animals on offer belongs to a farm."""
    animals = (c.value for c in choices if isinstance(c.value, Animal))
    return any(dialog.words.livestock(a.species) for a in animals)


def kind_of(conversation: Conversation, dialog: Dialog, stock_doubt: bool = False) -> str:
    """What the find is taken for: of all kinds that apply, the one of the highest rank.

    A kind once taken is only ever raised by the hunter's words, never lowered: whoever saw pus
    and then says it is nothing is not talked out of reporting. While it may be farm stock
    (`stock_doubt`) a sign in the head is held for unsure: no head is asked for.
    """
    ranks = {key: block.rank for key, block in dialog.advice.kind.items()}
    applying = set(_kinds(conversation, dialog))
    if conversation.kind in ranks:
        applying.add(conversation.kind)
    if stock_doubt and "head" in applying:
        applying = (applying - {"head"}) | {"unsure"}
    known = [k for k in applying if k in ranks]
    if known:
        return max(known, key=lambda k: ranks[k])
    return "clean" if "clean" in applying else conversation.kind


def _kinds(conversation: Conversation, dialog: Dialog) -> Iterator[str]:
    animal = conversation.answers.get("species")
    if animal and isinstance(animal.value, Animal):
        if animal.value.found_dead:
            yield "found_dead"
        if dialog.words.livestock(animal.value.species):
            yield "livestock"
    seen = conversation.answers.get("seen")
    if seen and isinstance(seen.value, Seen):
        if seen.value.clean and not seen.value.signs:
            yield "clean"
        for sign in seen.value.signs:
            yield _kind_of_sign(sign, dialog)


def _kind_of_sign(sign: Sign, dialog: Dialog) -> str:
    """Blisters, blood and death by their look or site; the rest by the region of the site.

    A sore on mouth or feet is taken for a blister: the two look alike, and only one can wait.
    """
    if sign.look == "blisters" or (sign.look == "sores" and sign.site in ("mouth", "feet")):
        return "blisters"
    if sign.look == "dead":
        return "many_dead" if sign.site == "many" else "found_dead"
    if sign.look == "blood":
        return "bleeding"
    region = dialog.words.region(sign.site)
    return {"head": "head", "body": "body", "mouth": "head", "other": "other"}.get(region, "unsure")


def advice_for(kind: str, dialog: Dialog, programme: Programme) -> tuple[str, Advice] | None:
    """The block that applies to a kind under the programme's law, with its sentence's key."""
    if not programme.head.law.head_may_move and f"{kind}_detained" in dialog.advice.kind:
        kind = f"{kind}_detained"
    block = dialog.advice.kind.get(kind)
    return (f"kind.{kind}", block) if block else None


def may_open(kind: str, dialog: Dialog, programme: Programme) -> bool:
    """Whether a pickup may open without a person's word."""
    found = advice_for(kind, dialog, programme)
    return found is not None and found[1].pickup
