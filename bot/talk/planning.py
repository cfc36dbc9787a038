"""What to ask next: the first question, in the dialog's order of worth, that still matters."""

from __future__ import annotations

from bot.programme import Programme
from bot.reading.values import Animal
from bot.talk.dialog import Dialog, Question
from bot.talk.pickup_talk import brings_it, head_is_gone
from bot.talk.state import Conversation, Said

CORE = ("kill_place", "when", "species")
"""What a read-back needs: the three answers that make a find evidence."""


OF_THE_HEAD = ("head_at", "storage", "jaw")
"""Not asked any more once the head is gone."""


def facts(conversation: Conversation, programme: Programme) -> dict[str, str]:
    """What a question's `ask_when` may look at."""
    species = conversation.answers.get("species")
    animal = species.value if species and isinstance(species.value, Animal) else Animal()
    kind = conversation.kind
    if kind == "head" and not programme.head.law.head_may_move:
        kind = "head_detained"
    return {
        "kind": kind,
        "channel": conversation.channel,
        "species": animal.species,
        "jaw_return": "yes" if programme.head.pickup.jaw_return else "no",
        "pickup": conversation.pickup.state if conversation.pickup else "none",
        "at_home": "yes" if is_at_home(conversation) else "no",
    }


def is_at_home(conversation: Conversation) -> bool:
    """Whether whoever fetches the head comes to somebody's house or land: there a gate, a dog or
    an hour may stand in the way."""
    land, head = (conversation.answers.get(key) for key in ("land", "head_at"))
    keys = {k for a in (land, head) if a and isinstance(a.value, Said) for k in a.value.keys}
    return bool(keys & {"private", "own", "home"}) and not brings_it(conversation)


def is_open(question: Question, conversation: Conversation, programme: Programme) -> bool:
    """Whether a question still matters and has no answer."""
    if conversation.result:
        return False  # Whoever has heard the result is asked nothing more about the head.
    answer = conversation.answers.get(question.key)
    if answer is not None and (answer.declined or not is_thin(question.key, conversation)):
        return False
    if conversation.misses.get(question.key, 0) >= question.tries:
        return False
    return matters(question, conversation, programme)


def matters(question: Question, conversation: Conversation, programme: Programme) -> bool:
    """Whether a question has a place in the find as it stands, answered or not."""
    if question.key in OF_THE_HEAD and head_is_gone(conversation):
        return False
    if question.key == "head_at" and brings_it(conversation):
        return False
    if question.key in ("head_at", "storage") and "carcase" in conversation.answers:
        return False  # It lies with the rest, and nobody bags it by itself.
    now = facts(conversation, programme)
    return all(now[fact] in allowed for fact, allowed in question.ask_when.items())


def is_thin(key: str, conversation: Conversation) -> bool:
    """An answer that says too little to stand: an animal without a species, "at home"
    without a place, a bag without a word on cold."""
    value = conversation.answers[key].value
    if key == "species":
        return isinstance(value, Animal) and not value.species
    if key == "head_at":
        return isinstance(value, Said) and "with_carcase" not in value.keys
    if key == "seen":
        return conversation.kind in ("", "unsure")
    return False


def animals_told(conversation: Conversation) -> int:
    """How many animals the find tells of; 1 while nothing was said of them."""
    animal = conversation.answers.get("species")
    return animal.value.count if animal and isinstance(animal.value, Animal) else 1


def next_question(
    conversation: Conversation, dialog: Dialog, programme: Programme
) -> Question | None:
    """The question to ask now, or None when everything that matters was asked."""
    return next((q for q in dialog.questions if is_open(q, conversation, programme)), None)


def is_core_known(conversation: Conversation) -> bool:
    """Whether place, day and animal are all there to be read back."""
    return all(
        (answer := conversation.answers.get(key)) is not None
        and not answer.declined
        and not is_thin(key, conversation)
        for key in CORE
    )
