"""What must be true at a talk's end: the facts that its author wrote down, against the service.

A fact is "find: suspect" or, of a talk's second find, "find 2: clean". Facts are never rewritten
by a replay, so that a change in what came of a talk cannot slip through with its words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from pyproj import Geod

from bot.demo.play import Play
from bot.fieldwork.state import Pickup
from bot.reading.values import Animal, Place, When
from bot.service.custody_shelf import CustodyShelf
from bot.service.desk import Desk
from bot.service.desk_rows import Card
from bot.talk.state import Value

_GEOD = Geod(ellps="WGS84")
_FACT = re.compile(r"(?P<name>[a-z ]+?)(?: (?P<number>\d+))?")
_NEAR = re.compile(r"(-?[\d.]+) (-?[\d.]+) within (\d+) m")


def differing_facts(play: Play) -> Iterator[str]:
    """A sentence for every fact that does not hold, and for every fault of our own."""
    codes = play.codes()
    desk = Desk(play.stage.database)
    cards = [card for card in map(desk.find_card, codes) if card]
    for card in cards:
        if any(r.reason == "software_fault" for r in card.reviews):
            yield f"{card.code}: our own software broke"
    for name, wanted in play.transcript.facts:
        found = _FACT.fullmatch(name)
        number = int(found["number"] or 1) if found else 0
        read = FACTS.get(found["name"]) if found else None
        if read is None:
            yield f"{name}: there is no such fact"
        elif number > len(cards):
            yield f"{name}: {wanted}, but only {len(cards)} finds were opened"
        elif (now := read(cards[number - 1], wanted, play)) != wanted:
            yield f"{name}: {wanted}, but it is: {now}"


def _find(card: Card, wanted: str, play: Play) -> str:
    return card.find_state or "not kept"


def _pickup(card: Card, wanted: str, play: Play) -> str:
    return pickup_words(card.pickup)


def pickup_words(pickup: Pickup | None) -> str:
    """How a pickup stands, with whose it is: "taken by f1", "offered to f2", "none"."""
    if pickup is None:
        return "none"
    state = pickup.state.replace("_", " ")
    if pickup.staff_id and pickup.state in ("taken", "collected", "handed_in"):
        return f"{state} by {pickup.staff_id}"
    return f"offered to {pickup.open_offer.staff_id}" if pickup.open_offer else state


def _review(card: Card, wanted: str, play: Play) -> str:
    return ", ".join(r.reason for r in card.reviews if r.closed_at is None) or "nothing"


def _asked(card: Card, wanted: str, play: Play) -> str:
    return ", ".join(r.reason for r in card.reviews) or "nothing"


def _value(card: Card, key: str) -> Value | None:
    answer = card.conversation.answers.get(key)
    return answer.value if answer and not answer.declined else None


def _place(key: str) -> Callable[[Card, str, Play], str]:
    def read(card: Card, wanted: str, play: Play) -> str:
        value, near = _value(card, key), _NEAR.fullmatch(wanted)
        if not isinstance(value, Place):
            return "not known"
        here = f"{value.lat:.5f} {value.lon:.5f}"
        if near is None:
            return f"{here}; say it like '-36.87 147.15 within 500 m'"
        metres = _GEOD.inv(float(near[2]), float(near[1]), value.lon, value.lat)[2]
        return wanted if metres <= float(near[3]) else f"{here}, {metres:.0f} m away"

    return read


def _died(card: Card, wanted: str, play: Play) -> str:
    value = _value(card, "when")
    if not isinstance(value, When):
        return "not known"
    zone = play.stage.programme.zone
    earliest, latest = value.earliest.astimezone(zone), value.latest.astimezone(zone)
    first, last = (f"{t:%a} {t.day} {t:%b %H:%M}" for t in (earliest, latest))
    return f"{first} to {last}"


def _animal(card: Card, wanted: str, play: Play) -> str:
    value = _value(card, "species")
    if not isinstance(value, Animal):
        return "not known"
    return " ".join(filter(None, (value.species, value.sort)))


def _specimen(card: Card, wanted: str, play: Play) -> str:
    """Who has the head, and what the laboratory says: "laboratory, final negative"."""
    trail = CustodyShelf(play.stage.database).trail(card.code)
    head = trail.specimen(card.code)
    if head is None:
        return "none"
    said = " ".join(filter(None, (head.status, head.outcome, head.released)))
    return ", ".join(filter(None, (" and ".join(head.holders), said)))


def _result_told(card: Card, wanted: str, play: Play) -> str:
    return card.conversation.result_told or "nothing"


FACTS: Mapping[str, Callable[[Card, str, Play], str]] = {
    "find": _find,
    "pickup": _pickup,
    "review": _review,
    "asked of the coordinator": _asked,
    "died": _died,
    "died at": _place("kill_place"),
    "head at": _place("head_at"),
    "animal": _animal,
    "specimen": _specimen,
    "result told": _result_told,
}
"""Each fact's name, and what the service says about it in the fact's own words."""
