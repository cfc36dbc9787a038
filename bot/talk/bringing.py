"""The hunter takes the head to a listed depot himself: said, done, or taken back.

Law: only what the bot may send somebody for by itself may be brought; anything else stays where
it lies until a person says. A depot's place is never taken for where the animal died, nor for
where the head is to be fetched.
"""

from __future__ import annotations

from msgspec.structs import replace

from bot.messages import CallOff, TakeIn
from bot.programme import Landmark, Programme
from bot.reading.values import Choice, Place, Reading
from bot.talk.advice import may_open
from bot.talk.filling import Brings, Filled, Spoken
from bot.talk.pickup_talk import LIVE, kill_place, open_pickup, order_for, pickup_place
from bot.talk.segments import clip
from bot.talk.state import Answer, PickupView, Said
from bot.talk.turn import Turn

OWN_WORDS = frozenset({"", "clean"})
"""Kinds of find of which no head is asked for yet: what is to be brought is not known."""

REASON = "hand_in"
"""Why a pickup is called off whose head the hunter brings."""

LONGEST_DEPOT, LONGEST_ADDRESS = 40, 110
"""Characters of a depot's name and of its address and hours, so that two segments hold them."""


def take_out_depot(
    reading: Reading, programme: Programme, asked: str
) -> tuple[Reading, Brings | None]:
    """A reading without the depot that he brings the head to, and what he says of that. Where it
    is asked for, a bare word is enough."""
    keys = {w.key for w in reading.words if w.kind == "hand_in"}
    if not keys:
        return reading, None
    names = {mark.name for mark in programme.depots}
    depots = [f.value.landmark for f in reading.places if f.value.landmark in names]
    if "fetch" in keys:
        return reading, Brings("fetch")
    named = depots or keys & {"place", "myself"} or asked == "hand_in"
    if not named or not keys & {"will", "did", "myself"}:
        return reading, None
    left = tuple(f for f in reading.places if f.value.landmark not in names)
    did = "did" in keys and not keys & {"will", "myself"}
    kept = tuple(w for w in reading.words if not (did and w.kind in ("storage", "where_now")))
    depot = depots[0] if len(set(depots)) == 1 else ""
    reading = replace(reading, places=left, words=kept)
    if not (reading.signs or reading.animal):  # "This arvo" is when he brings it.
        reading = replace(reading, when=None, unclear=())
    return reading, Brings("did" if did else "will", depot)


def hear_bringing(turn: Turn, spoken: Spoken, filled: Filled) -> bool:
    """Do what follows from his bringing it; whether anything was said of it."""
    brings = spoken.brings
    if brings is None and spoken.answering == "hand_in" and spoken.keys("yes_no") == ("yes",):
        brings = Brings("did")
    if brings is None and "depot" in filled.learned:
        brings = Brings("will", _place_of(turn).landmark)
    if brings is None or (brings.how == "fetch" and "depot" not in turn.now.answers):
        return False
    turn.advise(spoken.reading.text, spoken.doubts)
    if turn.now.kind in OWN_WORDS:
        return False
    if not may_open(turn.now.kind, turn.dialog, turn.programme):
        turn.say("notice", "bring_not" if brings.how == "will" else "bring_told")
        turn.ask_coordinator("hunter_brings", spoken.reading.text)
    elif brings.how == "fetch":
        _fetch_after_all(turn)
    elif brings.how == "did":
        _brought(turn, spoken, brings)
    else:
        _brings(turn, spoken, brings)
    return True


def is_choosing_depot(turn: Turn) -> bool:
    """Whether which depot he means has just been asked."""
    asked = turn.now.asked
    return asked is not None and asked.question == "depot" and asked.at == turn.at


def _brings(turn: Turn, spoken: Spoken, brings: Brings) -> None:
    depots = turn.programme.depots
    if not depots:
        turn.say("notice", "bring_nowhere")
        turn.ask_coordinator("hunter_brings", spoken.reading.text)
        return
    depot = _named(depots, brings.depot) or (depots[0] if len(depots) == 1 else None)
    if depot is None:
        choices = tuple(Choice(d.name, _place(d)) for d in depots[:4])
        turn.offer(turn.dialog.by_key["depot"], choices)
        return
    _remember(turn, spoken, depot)
    if turn.now.pickup is not None and turn.now.pickup.state in LIVE:
        turn.effect(CallOff(REASON))
    name = clip(depot.name, LONGEST_DEPOT)
    turn.change(pickup=PickupView("brings", at=turn.at, words=name))
    turn.settle("no_answer")
    key = "bring" if depot.words else "bring_bare"
    turn.say("notice", key, depot=name, address=clip(depot.words, LONGEST_ADDRESS))


def _brought(turn: Turn, spoken: Spoken, brings: Brings) -> None:
    """It is there: the pickup ends, and the trail begins with the hunter's own word."""
    depots, known = turn.programme.depots, turn.now.answers.get("depot")
    said = known.value.landmark if known and isinstance(known.value, Place) else ""
    name = brings.depot or said or (depots[0].name if len(depots) == 1 else "")
    depot = _named(depots, name)
    place = _place(depot) if depot else pickup_place(turn.now) or kill_place(turn.now)
    if place is None:
        turn.say("notice", "bring_told")
        turn.ask_coordinator("hunter_brings", spoken.reading.text)
        return
    if depot:
        _remember(turn, spoken, depot)
    answer = Answer("hand_in", Said(("did",)), spoken.reading.text, spoken.sent_at, spoken.by)
    turn.change(answers={**turn.now.answers, "hand_in": answer})
    collected = turn.now.pickup is not None and turn.now.pickup.state in ("collected", "handed_in")
    if not collected:
        turn.change(pickup=PickupView("handed_in", at=turn.at))
    turn.effect(TakeIn(order_for(turn, place), spoken.reading.text, depot.name if depot else ""))
    turn.say("notice", "brought" if depot else "brought_somewhere", depot=clip(name, LONGEST_DEPOT))


def _fetch_after_all(turn: Turn) -> None:
    """He can't bring it: somebody is looked for again."""
    gone = ("depot", "hand_in")
    turn.change(answers={k: a for k, a in turn.now.answers.items() if k not in gone})
    place = pickup_place(turn.now)
    view = turn.now.pickup
    turn.change(pickup=None, asked=None)
    if place is None or view is None or view.state != "brings":
        return  # Where it is, is asked; what has its place is opened with the rest.
    open_pickup(turn, place, "bot")
    turn.say("notice", "status_offered")


def _remember(turn: Turn, spoken: Spoken, depot: Landmark) -> None:
    answer = Answer("depot", _place(depot), depot.name, spoken.sent_at, spoken.by)
    turn.change(answers={**turn.now.answers, "depot": answer})


def _place_of(turn: Turn) -> Place:
    value = turn.now.answers["depot"].value
    assert isinstance(value, Place)  # noqa: S101 - nothing else is ever put there
    return value


def _named(depots: tuple[Landmark, ...], name: str) -> Landmark | None:
    return next((d for d in depots if d.name == name), None)


def _place(depot: Landmark) -> Place:
    return Place(depot.lat, depot.lon, 100.0, "landmark", landmark=depot.name)
