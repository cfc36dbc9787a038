"""What the hunter hears of the laboratory's result, and of the jaw he wanted back.

Law: a result is told once, and once more if it is amended; to nobody but whoever reported; never
before the authority has heard of a positive, and never as a verdict on animal, meat or land.
"""

from __future__ import annotations

from bot.messages import AuthorityTold, JawNews, Result, ResultApproved
from bot.talk.segments import clip
from bot.talk.turn import Turn

TO_APPROVE = "result_to_approve"
POSITIVE = "positive_result"
UNTOLD = "result_untold"


class TooSoon(ValueError):
    """A result that may not be told yet: there is none, or the authority has not heard of it."""


def on_result(turn: Turn, event: Result) -> None:
    """Keep a result that is new, and ask for what must come before it is told."""
    if event.outcome == turn.now.result:
        turn.change(turn=turn.now.turn - 1)
        return
    # What was positive and no longer is concerns the authority as much.
    concerns = "positive" in (event.outcome, turn.now.result)
    turn.change(result=event.outcome, authority_told=False)
    turn.settle(TO_APPROVE, POSITIVE, UNTOLD)
    if concerns:
        turn.ask_coordinator(POSITIVE, at_once=event.outcome == "positive")
    if turn.programme.head.results.approve:
        turn.ask_coordinator(TO_APPROVE)
    elif not concerns:
        _tell(turn)


def on_authority_told(turn: Turn, event: AuthorityTold) -> None:
    """The authority has heard; what waits for nothing else may be told."""
    turn.change(authority_told=True)
    turn.settle(POSITIVE)
    if turn.now.result and TO_APPROVE not in turn.now.reviews:
        _tell(turn)


def on_result_approved(turn: Turn, event: ResultApproved) -> None:
    """A person lets it be told. TooSoon if the authority comes first, or there is no result."""
    if not turn.now.result:
        raise TooSoon("there is no result yet")
    if POSITIVE in turn.now.reviews:
        raise TooSoon("the authority has to be told first")
    turn.settle(TO_APPROVE)
    _tell(turn)


def _tell(turn: Turn) -> None:
    result, told = turn.now.result, turn.now.result_told
    if result == told:
        return
    if turn.now.opted_out:
        turn.ask_coordinator(UNTOLD)
        return
    turn.change(result_told=result, asked=None)
    turn.say("news", f"result_amended_{result}" if told else f"result_{result}")


def on_jaw_news(turn: Turn, event: JawNews) -> None:
    """What becomes of the jaw, once; nothing to him who never wanted it."""
    if turn.now.jaw == event.how:
        turn.change(turn=turn.now.turn - 1)
        return
    turn.change(jaw=event.how)
    if not turn.now.opted_out and wants_jaw(turn):
        turn.say("news", f"jaw_{event.how}", words=clip(event.words, 40))


def wants_jaw(turn: Turn) -> bool:
    """Whether the hunter asked for the jaw."""
    answer = turn.now.answers.get("jaw")
    return (
        answer is not None and not answer.declined and "want" in getattr(answer.value, "keys", ())
    )
