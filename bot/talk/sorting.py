"""Which talk is about which animal, sorted out by a person: typed in, joined, split.

PURE. History is only added to: a joined conversation keeps its events and ends, a split one
keeps its answers. What one conversation tells another travels in the event itself, so that each
is replayed by itself.
"""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from bot.messages import Brought, Entered, Joined, KeepFind, SplitOff
from bot.reading.read import read
from bot.scenes import scene_for
from bot.talk.asking import ask_next
from bot.talk.filling import Spoken, fill
from bot.talk.pickup_talk import LIVE, call_off, tend_pickup
from bot.talk.replying import keep_find
from bot.talk.state import Answer, Conversation
from bot.talk.turn import Turn

OWN = frozenset({"seen", "species", "jaw", "exposure", "texter"})
"""Answers about one animal or one person alone: a second animal does not begin with them."""

SEVERAL = ("several_animals", "several_carcases")


class CannotSort(ValueError):
    """The two conversations cannot be joined or split as asked; nothing was changed."""


def carried(conversation: Conversation, questions: Iterable[str]) -> dict[str, str]:
    """The answers to some questions, ready to travel; what was declined stays behind."""
    wanted = set(questions)
    return {
        key: msgspec.json.encode(answer).decode()
        for key, answer in conversation.answers.items()
        if key in wanted and not answer.declined
    }


def on_entered(turn: Turn, event: Entered) -> None:
    """Whoever hears nothing by text is asked by the person who typed, not by the bot."""
    if not event.texts:
        turn.change(with_person=True, asked=None)


def on_joined(turn: Turn, event: Joined) -> None:
    """The talk ends; its find is none of its own. CannotSort once its head is on the way."""
    pickup = turn.now.pickup
    if pickup is not None and pickup.state not in (*LIVE, "called_off"):
        raise CannotSort(f"{turn.now.code}: its head is {pickup.state.replace('_', ' ')} already")
    call_off(turn, f"joined to {event.into}")
    turn.settle(*turn.now.reviews)
    turn.change(stage="closed", asked=None, with_person=False, kept="no_find")
    turn.effect(KeepFind("no_find"))


def on_split_off(turn: Turn, event: SplitOff) -> None:
    """What was to be sorted out is sorted out."""
    turn.settle(*SEVERAL)
    turn.change(candidates=())


def on_brought(turn: Turn, event: Brought) -> None:
    """Answers of another talk: they fill gaps, and never overwrite. A talk that is split off
    speaks its own advice, since a second head needs its own card, and waits for a person."""
    split = event.why == "split"
    known = {k for k, a in turn.now.answers.items() if not a.declined}
    new = {
        key: msgspec.json.decode(answer, type=Answer)
        for key, answer in event.answers.items()
        if key not in known
    }
    turn.change(answers={**turn.now.answers, **new})
    if split:
        turn.change(with_person=True)
        _read_own(turn, event)
    if split or not turn.now.with_person:
        turn.advise(event.words)
    keep_find(turn)
    tend_pickup(turn, tuple(new))
    if turn.now.asked and turn.now.asked.question in new:
        turn.change(asked=None)
        if not (turn.now.opted_out or turn.now.stage == "closed"):
            ask_next(turn)


def _read_own(turn: Turn, event: Brought) -> None:
    """The coordinator's words on the second animal, by the same readers. CannotSort if they say
    nothing: a find without an animal of its own is none."""
    scene = scene_for(turn.programme, turn.dialog.words, event.at, "species")
    reading = read(event.words, scene)
    spoken = Spoken(reading, event.at, by=f"coordinator:{event.by}", answering="species")
    filled = fill(turn.now, spoken)
    if not filled.learned:
        raise CannotSort(f"cannot read {event.words!r} as an animal or a sign")
    turn.now = filled.conversation
