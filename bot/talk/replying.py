"""What a text gets back before any question: advice, the code, what was understood.

The order of the sentences here is the order in which they are read: safety first.
"""

from __future__ import annotations

from bot.messages import KeepFind
from bot.reading.values import Animal, Place
from bot.talk.advice import KEPT_AS
from bot.talk.filling import Filled, Spoken
from bot.talk.pickup_talk import tend_pickup
from bot.talk.planning import CORE, is_core_known
from bot.talk.state import Said
from bot.talk.turn import Turn
from bot.talk.way_in import WAY_IN

READ_BACK = (*CORE, "head_at")
"""Answers whose change is said again."""


def reply(turn: Turn, spoken: Spoken, filled: Filled, heard: bool) -> None:
    """Advice first, then what was understood or why it was not, then the pickup."""
    first = not turn.now.greeted
    turn.advise(spoken.reading.text, spoken.doubts)
    give_code(turn)
    understood = bool(filled.learned or heard or turn.parts)
    _read_back(turn, filled, spoken)
    keep_find(turn)
    if first:
        greet(turn, understood)
    _several_animals(turn, spoken)
    tend_pickup(turn, filled.for_staff)
    _say_passed_on(turn, filled)
    for key in filled.learned:
        turn.settle(f"unread_{key}")
    if not (filled.learned or heard or first):
        _missed(turn, spoken)


def give_code(turn: Turn) -> None:
    if turn.now.kind == "head" and turn.programme.head.law.head_may_move:
        turn.say_once("advice", "code")
    elif turn.now.kind not in ("", "clean"):
        turn.say_once("notice", "code_only")


def greet(turn: Turn, understood: bool) -> None:
    """The first text ever: who this is, where nothing else says so, and who keeps the data."""
    turn.change(greeted=True)
    if not understood:
        turn.say("notice", "hello")
        turn.say("advice", "safety_first")
    say_privacy(turn)


def say_privacy(turn: Turn) -> None:
    """Who keeps the data, whether it is free, and how to end it."""
    free = turn.programme.head.privacy.free_of_charge
    turn.say("notice", "privacy_free" if free else "privacy")


def _read_back(turn: Turn, filled: Filled, spoken: Spoken) -> None:
    """Say once what was understood; afterwards only what changed."""
    now, speaker = turn.now, turn.speaker
    if now.read_back:
        changed = [k for k in filled.changed if k in READ_BACK]
        if changed:
            turn.say(
                "notice", "changed", what="; ".join(speaker.answer(now.answers[k]) for k in changed)
            )
    if turn.now.correcting and now.answers:
        turn.say("question", "changed_none")
    if now.read_back:
        return
    if not is_core_known(now):
        return
    turn.change(read_back=True)
    head = now.answers.get("head_at")
    told = {
        "animal": speaker.answer(now.answers["species"]),
        "when": speaker.answer(now.answers["when"]),
        "place": speaker.answer(now.answers["kill_place"]),
    }
    if now.kind == "head" and head is not None and not head.declined:
        where = head.value
        short = speaker.short_place(where) if isinstance(where, Place) else speaker.answer(head)
        turn.say("notice", "read_back_head", head=short, **told)
    else:
        turn.say("notice", "read_back", **told)


def keep_find(turn: Turn) -> None:
    """Keep the find as evidence once place, day, animal and what was seen are known, and again
    whenever that makes it another kind of find."""
    if not (is_core_known(turn.now) and turn.now.kind):
        return
    animal = turn.now.answers["species"].value
    dead = isinstance(animal, Animal) and animal.found_dead
    state = "found_dead" if dead else KEPT_AS.get(turn.now.kind, "suspect")
    if state != turn.now.kept:
        turn.change(kept=state)
        turn.effect(KeepFind(state))  # type: ignore[arg-type]


def _say_passed_on(turn: Turn, filled: Filled) -> None:
    """What was told to whoever comes is not left without a word."""
    settled = turn.now.stage == "settled" and turn.now.asked is None
    for_them = (*WAY_IN, "contact") if settled and turn.now.pickup else WAY_IN
    words = [turn.now.answers[k].value for k in filled.learned if k in for_them]
    if any(isinstance(value, Said) and value.words for value in words):
        turn.say("notice", "way_in_noted")


def _several_animals(turn: Turn, spoken: Spoken) -> None:
    """One head is one find: more than one with a sign is a person's to take apart."""
    animal = spoken.reading.animal
    if animal and animal.value.count > 1 and turn.now.kind == "head":
        turn.say_once("notice", "another")
        turn.ask_coordinator("several_animals", spoken.reading.text)


def _agrees(turn: Turn, spoken: Spoken) -> bool:
    """Whether it is a word of thanks, or a yes or no to what was read back: "wrong?" may be
    answered by either, so the first is told once how to put something right; a no after that is
    for a person."""
    if spoken.words("thanks"):
        return True
    keys = spoken.keys("yes_no") if turn.now.read_back else ()
    return bool(keys) and (turn.say_once("notice", "right_or_wrong") or keys == ("yes",))


def _missed(turn: Turn, spoken: Spoken) -> None:
    """A text that nobody could read: once it is asked again, the second time a person looks."""
    body = spoken.reading.text
    turn.change(held=(*turn.now.held, body))
    if not spoken.answering:
        if turn.now.asked is None and not _agrees(turn, spoken):
            if "wrote_more" not in turn.now.reviews:  # Once, however much more he writes.
                turn.say("notice", "passed_on")
            turn.ask_coordinator("wrote_more", body)
        return
    key = spoken.answering
    if key not in turn.dialog.by_key:  # A new dialog no longer has it: it is planned anew.
        return
    misses = turn.now.misses.get(key, 0) + 1
    turn.change(misses={**turn.now.misses, key: misses})
    if misses >= turn.dialog.by_key[key].tries:
        turn.ask_coordinator(f"unread_{key}", body)
        turn.say("notice", "unread")
