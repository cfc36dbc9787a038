"""The hunter wants the whole carcase gone: a job of its own, with a vehicle and people.

Law: it is promised to nobody whom the law or the roster cannot serve, and never where a suspect
carcase has to stay. Where a pickup is under way already, or none may open by itself, a person
decides.
"""

from __future__ import annotations

from bot.talk.advice import may_open
from bot.talk.filling import Spoken
from bot.talk.pickup_talk import LIVE
from bot.talk.state import Answer, Said
from bot.talk.turn import Turn


def hear_carcase(turn: Turn, spoken: Spoken) -> bool:
    """Note the wish and say what comes of it; whether it was heard."""
    if not spoken.words("carcase") or "carcase" in turn.now.answers:
        return False
    turn.advise(spoken.reading.text, spoken.doubts)
    if not turn.programme.head.law.head_may_move:
        turn.say_once("notice", "carcase_detained")
        return True
    if not turn.programme.takes_carcases:
        turn.say_once("notice", "carcase_not")
        return True
    answer = Answer("carcase", Said(("take",)), spoken.reading.text, spoken.sent_at, spoken.by)
    turn.change(answers={**turn.now.answers, "carcase": answer})
    under_way = turn.now.pickup is not None and turn.now.pickup.state in (*LIVE, "collected")
    kind = turn.now.kind
    if under_way or (kind and not may_open(kind, turn.dialog, turn.programme)):
        turn.say("notice", "carcase_person")
        turn.ask_coordinator("whole_carcase", spoken.reading.text)
    else:
        turn.say("notice", "carcase_taken")
    return True
