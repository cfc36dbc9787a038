"""What a hunter's text does besides answering: trouble, exposure, wishes, offered choices.

A person in trouble comes before anything else, and a wish is heard in every state.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.messages import OptIn, OptOut
from bot.reading.values import Choice
from bot.talk import gland_check
from bot.talk.filling import Filled, Spoken, put
from bot.talk.pickup_talk import LIVE, call_off, say_status
from bot.talk.replying import say_privacy
from bot.talk.state import Answer, Asked, Said
from bot.talk.turn import Turn


def hear_trouble(turn: Turn, spoken: Spoken) -> bool:
    """The emergency number before anything else, and a person at once."""
    keys = spoken.keys("trouble")
    for key in keys:
        turn.say("advice", f"trouble.{key}")
        block = turn.dialog.advice.trouble[key]
        turn.ask_coordinator(block.review, spoken.reading.text, at_once=True)
    return bool(keys)


def hear_exposure(turn: Turn, spoken: Spoken) -> bool:
    """A cut, a splash, a meal: what to do, once each, without blame; and a person is told."""
    keys = spoken.keys("exposure")
    for key in keys:
        turn.say_once("advice", f"exposure.{key}")
        turn.ask_coordinator(turn.dialog.advice.exposure[key].review, spoken.reading.text)
    return bool(keys)


WORKABLE = {
    "no_bags": "no_bags",
    "no_freezer": "no_freezer",
    "binned": "head_gone",
    "boiled": "boiled",
    "dog_took": "dog_took",
}
"""What can still be done where the head cannot be bagged and frozen."""


def hear_storage(turn: Turn, spoken: Spoken) -> None:
    """Workable advice for what is missing or gone."""
    for key in spoken.keys("storage"):
        if sentence := WORKABLE.get(key):
            turn.say_once("advice", sentence)


def chosen(turn: Turn, spoken: Spoken) -> Choice | None:
    """The reading picked from those on offer: by its number, or by a yes where there is one.

    Only a reply sent after the offer can pick from it.
    """
    asked = turn.now.asked
    if asked is None or not asked.choices or not spoken.answering:
        return None
    numbers = [int(k) for k in spoken.keys("choice") if k.isdigit()]
    if len(numbers) == 1 and 1 <= numbers[0] <= len(asked.choices):
        return asked.choices[numbers[0] - 1]
    if len(asked.choices) == 1 and spoken.keys("yes_no") == ("yes",):
        return asked.choices[0]
    return None


def refuses_offer(turn: Turn, spoken: Spoken) -> bool:
    """Whether none of the readings on offer is right; the question then stands as it was."""
    asked = turn.now.asked
    if asked is None or not asked.choices or not spoken.answering:
        return False
    return "none" in spoken.keys("choice") or spoken.keys("yes_no") == ("no",)


def take_choice(turn: Turn, spoken: Spoken, choice: Choice) -> Filled:
    """Put the picked reading where its question wants it."""
    asked = turn.now.asked
    if asked is None or choice.value is None:
        return Filled(turn.now)
    answer = Answer(asked.question, choice.value, choice.words, spoken.sent_at, spoken.by)
    return put(Filled(turn.now), answer)


# ------------------------------------------------------------------------------------ wishes


def _stop(turn: Turn, spoken: Spoken) -> None:
    open_pickup = turn.now.pickup is not None and turn.now.pickup.state in LIVE
    turn.say("notice", "stopped_pickup" if open_pickup else "stopped")
    turn.change(opted_out=True, asked=None)
    turn.effect(OptOut())
    if open_pickup:
        turn.ask_coordinator("stopped_with_pickup_open", spoken.reading.text)


def _start(turn: Turn, spoken: Spoken) -> None:
    turn.change(opted_out=False)
    turn.effect(OptIn())
    turn.settle("wrote_after_stop")
    turn.say("notice", "started")


def _help(turn: Turn, spoken: Spoken) -> None:
    turn.say("notice", "help")


def _person(turn: Turn, spoken: Spoken) -> None:
    number = turn.programme.head.contacts.coordinator
    turn.say("notice", "person_asked" if number else "person_asked_no_number")
    turn.ask_coordinator("asked_for_person", spoken.reading.text)


def _status(turn: Turn, spoken: Spoken) -> None:
    say_status(turn)


def _call_off(turn: Turn, spoken: Spoken) -> None:
    call_off(turn, "hunter")
    turn.say("notice", "call_off_done")


def _nobody_came(turn: Turn, spoken: Spoken) -> None:
    """Whoever waits in vain has a person look for him now, whatever the pickup says."""
    turn.say("notice", "nobody_came")
    turn.ask_coordinator("nobody_came", spoken.reading.text)


def _angry(turn: Turn, spoken: Spoken) -> None:
    if "nobody_came" not in spoken.keys("wish"):  # One line is enough for both.
        turn.say("notice", "angry")
    turn.ask_coordinator("angry", spoken.reading.text)


def _wrong_number(turn: Turn, spoken: Spoken) -> None:
    # Whoever has a find of his own gets texts about it still, till he stops them.
    turn.say("notice", "wrong_number_known" if turn.now.greeted else "wrong_number")


def _joke(turn: Turn, spoken: Spoken) -> None:
    turn.say("notice", "joke")


OFFHAND = frozenset({"wrong_number", "joke"})
"""What is no report at all: one short line answers it, and nothing is asked."""

PLACES = ("kill_place", "head_at")


def said_roughly(spoken: Spoken, wishes: tuple[str, ...]) -> bool:
    """Whether a rough place was just asked for instead: the question that is open stands."""
    return spoken.answering in PLACES and bool({"not_say", "dont_know"} & set(wishes))


def _what_is_it(turn: Turn, spoken: Spoken) -> None:
    _safety_first(turn, spoken)
    turn.say("advice", "what_is_it")


def _can_eat(turn: Turn, spoken: Spoken) -> None:
    _safety_first(turn, spoken)
    turn.say("advice", "can_eat")


def _who(turn: Turn, spoken: Spoken) -> None:
    """Who is texting, who keeps what is told, and what it costs."""
    _safety_first(turn, spoken)
    turn.say("notice", "hello")
    if turn.now.greeted:
        say_privacy(turn)


def _safety_first(turn: Turn, spoken: Spoken) -> None:
    """Whoever begins with a question may have the knife in his hand: that comes before it."""
    if not (turn.now.greeted or spoken.reports):
        turn.say("advice", "safety_first")


def _not_say(turn: Turn, spoken: Spoken) -> None:
    if spoken.answering in PLACES:
        turn.say("notice", "rough_place")
        return
    turn.say("notice", "declined")
    if spoken.answering:
        decline(turn, spoken.answering, spoken)


def _dont_know(turn: Turn, spoken: Spoken) -> None:
    """Not knowing is an answer: a place may be rough, anything else is left open."""
    if spoken.answering in PLACES:
        turn.say("notice", "rough_place")
    elif spoken.answering:
        decline(turn, spoken.answering, spoken)


def _owner(turn: Turn, spoken: Spoken) -> None:
    """Whether the landowner may hear the hunter's name: kept beside the land."""
    keys = tuple(k for k in spoken.keys("wish") if k.startswith("owner_"))
    answer = Answer("land", Said(keys), spoken.reading.text, spoken.sent_at, spoken.by)
    turn.now = put(Filled(turn.now), answer).conversation
    turn.say("notice", "thanks")


def _restart(turn: Turn, spoken: Spoken) -> None:
    if turn.now.pickup is not None and turn.now.pickup.state in LIVE:
        turn.ask_coordinator("started_again_with_pickup_open", spoken.reading.text)
    turn.change(answers={}, asked=None, misses={}, put={}, read_back=False, kind="", candidates=())
    turn.say("question", "restarted")
    turn.change(asked=Asked("seen", turn.at))


def _check(turn: Turn, spoken: Spoken) -> None:
    gland_check.start(turn)


WISHES: Mapping[str, Callable[[Turn, Spoken], None]] = {
    "stop": _stop,
    "start": _start,
    "help": _help,
    "person": _person,
    "status": _status,
    "call_off": _call_off,
    "not_say": _not_say,
    "restart": _restart,
    "dont_know": _dont_know,
    "owner_private": _owner,
    "owner_may_know": _owner,
    "what_is_it": _what_is_it,
    "can_eat": _can_eat,
    "who": _who,
    "check": _check,
    "nobody_came": _nobody_came,
    "angry": _angry,
    "wrong_number": _wrong_number,
    "joke": _joke,
}

ENDS_THE_TURN = frozenset(
    {"stop", "help", "status", "restart", "call_off", "nobody_came", "angry", *OFFHAND}
)
"""Wishes after which nothing more is asked in the same breath."""


def hear_wishes(turn: Turn, spoken: Spoken) -> tuple[str, ...]:
    """Do what was wished; the keys of the wishes that were heard."""
    keys = tuple(k for k in spoken.keys("wish") if k in WISHES)
    if not gland_check.is_on(turn):
        keys = tuple(k for k in keys if k != "check")
    if spoken.reports:  # "Pus in the gland, what do I do?" is answered by the advice itself.
        keys = tuple(k for k in keys if k not in ("help", *OFFHAND))
    for key in keys:
        WISHES[key](turn, spoken)
    return keys


def decline(turn: Turn, question: str, spoken: Spoken) -> None:
    """Keep a question as one that will not be answered."""
    answer = Answer(question, Said(), spoken.reading.text, spoken.sent_at, spoken.by, declined=True)
    turn.change(answers={**turn.now.answers, question: answer})
