"""PURE: what can be answered with one press: the choices on offer, a yes or no, a step of the
guided look.

A button only says what could be typed as well: its words go the way of any text, and the readers
hear them. That a whole animal looked clean is for words, and under nobody's thumb.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from bot.programme import Programme
from bot.talk.dialog import Dialog
from bot.talk.gland_check import QUESTION as GLAND_CHECK
from bot.talk.gland_check import READY
from bot.talk.listening import PLACES
from bot.talk.planning import is_open
from bot.talk.state import Conversation
from bot.talk.way_in import WHERE_IT_IS
from bot.talk.wording import Speaker

YES_NO = ("yes", "no")
BY_QUESTION: dict[str, tuple[str, ...]] = {
    "jaw": YES_NO,
    "access": ("no",),
    "hand_in": ("left_it", "fetch"),
}
"""Questions that a word answers; keys of [say.button]."""

PAIR_STEP = ("ok", "lumps", "not_found", "leave")
OPEN_STEP = ("ok", "lumps", "not_open", "leave")
"""A step of the guided look at a pair of nodes, and one at what is only looked at if open."""


class Button(Struct, frozen=True):
    """One press: what stands on it, and the words that are sent."""

    label: str
    words: str


def buttons_for(
    conversation: Conversation | None, dialog: Dialog, programme: Programme
) -> tuple[Button, ...]:
    """The buttons of the open question, none where it wants words or a person has the talk."""
    if conversation is None or conversation.asked is None or conversation.with_person:
        return ()
    speaker = Speaker(conversation, dialog, programme)
    if conversation.asked.choices:
        return tuple(_choices(conversation, speaker))
    return tuple(_said(speaker, key) for key in _keys(conversation, dialog))


def place_wanted(conversation: Conversation | None, dialog: Dialog, programme: Programme) -> str:
    """The question that a position of the telephone would answer now: kill_place, head_at, or ""
    where it would answer none. Before the first text it is where the animal died."""
    if conversation is None or conversation.stage == "closed":
        return PLACES[0]
    asked = conversation.asked.question if conversation.asked else ""
    if asked in PLACES:
        return asked
    if asked in WHERE_IT_IS:
        return PLACES[1]
    open_ones = (q.key for q in dialog.questions if is_open(q, conversation, programme))
    return next((key for key in open_ones if key == PLACES[0]), "")


def _choices(conversation: Conversation, speaker: Speaker) -> Iterator[Button]:
    """Each reading by its number; a single one by a yes."""
    choices = conversation.asked.choices if conversation.asked else ()
    if len(choices) == 1:
        yield from (_said(speaker, key) for key in YES_NO)
        return
    for number, choice in enumerate(choices, 1):
        yield Button(f"{number}: {speaker.choice(choice)}", f"{number}")
    yield _said(speaker, "neither")


def _keys(conversation: Conversation, dialog: Dialog) -> tuple[str, ...]:
    question = conversation.asked.question if conversation.asked else ""
    if question != GLAND_CHECK:
        return BY_QUESTION.get(question, ())
    if conversation.checking == READY:
        return ("ready", "leave")
    step = next((s for s in dialog.check_steps if s.key == conversation.checking), None)
    if step is None:
        return ()
    return PAIR_STEP if step.side else OPEN_STEP


def _said(speaker: Speaker, key: str) -> Button:
    words = speaker.say(f"button.{key}")
    return Button(words, words)
