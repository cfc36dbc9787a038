"""What a conversation makes of a proved number: who tells it by a code is the one who has it.

PURE. Before that, a number typed in a browser is a number to ring, and nobody's name.
"""

from __future__ import annotations

from bot.messages import NumberProved
from bot.talk.asking import ask_next
from bot.talk.pickup_talk import tend_pickup
from bot.talk.state import Answer, Said
from bot.talk.turn import Turn

BY_CODE = "code"
"""Whose word such an answer rests on."""


def on_number_proved(turn: Turn, event: NumberProved) -> None:
    """The number may be rung, unless another was given; and it is asked for no more."""
    given = turn.now.answers.get("contact")
    if given is None or given.declined:
        contact = Answer("contact", Said(words=event.number), event.number, event.at, BY_CODE)
        turn.change(answers={**turn.now.answers, "contact": contact})
    turn.settle("unread_contact")
    if turn.now.stage == "closed":
        return
    tend_pickup(turn, ())
    if turn.now.asked and turn.now.asked.question == "contact":
        turn.change(asked=None)
        if not (turn.now.with_person or turn.now.opted_out):
            ask_next(turn)
