"""Which question is opened now and how it is put: to choose, again, or for the first time."""

from __future__ import annotations

from datetime import datetime, timedelta

from bot.reading.values import Choice, Unclear, When
from bot.talk.dialog import Question
from bot.talk.filling import LEFT_OPEN, Spoken
from bot.talk.planning import animals_told, is_open, next_question
from bot.talk.state import Asked
from bot.talk.turn import Turn

OPTIONAL = frozenset({"storage", "land", "name", "jaw", "access"})
"""Questions whose silence is taken for an answer: no reminder is spent on them."""

UNCLEAR_QUESTION = {"place": "kill_place", "when": "when", "species": "species", "signs": "seen"}


def ask_next(turn: Turn, spoken: Spoken | None = None) -> None:
    """Open the next question: readings to choose from, an old question again, or a new one."""
    unclear = _unclear(turn, spoken) if spoken else None
    if unclear is not None and _not_again(turn, turn.dialog.by_key[unclear[0]]) is not None:
        key, doubt = unclear
        if doubt.choices:
            turn.offer(turn.dialog.by_key[key], doubt.choices)
        else:
            _say_why(turn, doubt)
            turn.ask(turn.dialog.by_key[key], "again")
    else:
        question = next_question(turn.now, turn.dialog, turn.programme)
        if question is not None and spoken and _stands(turn, question, spoken):
            return
        question = _not_again(turn, question)
        if question is None:
            _settle(turn)
            return
        if question.key == "when" and spoken and spoken.photo_at:
            _suggest_photo_time(turn, question, spoken.photo_at)
        else:
            turn.ask(question, "again" if _was_asked(turn, question) else "ask")
    patience = turn.programme.head.patience
    if turn.now.asked and turn.now.asked.question in OPTIONAL:
        turn.change(silence_mark=-1)  # The wait for an earlier question is over.
    elif turn.now.asked and turn.now.asked.question == "hand_in":
        turn.wait(patience.hand_in)
    else:
        turn.wait(patience.reminder)


MOST_TIMES = 3
"""A question is put so often at most: first, worded otherwise, and once more beside other news."""


def _not_again(turn: Turn, question: Question | None) -> Question | None:
    """The question itself, or the next one where this has been put too often: a person has it
    then, and the hunter hears that instead of the same sentence again."""
    while question is not None and turn.now.put.get(question.key, 0) >= MOST_TIMES:
        turn.say("notice", "left_for_now")
        turn.ask_coordinator(f"unread_{question.key}")
        turn.change(
            misses={**turn.now.misses, question.key: question.tries},
            put={**turn.now.put, question.key: 0},
        )
        question = next_question(turn.now, turn.dialog, turn.programme)
    return question


def _stands(turn: Turn, question: Question, spoken: Spoken) -> bool:
    """Whether the very question is out already, and this text was sent before it could be read:
    of three texts that come in at once after hours without signal, one is asked about."""
    asked = turn.now.asked
    if asked is None or asked.choices or spoken.answering:
        return False
    return asked.question == question.key and spoken.sent_at < asked.at


def _suggest_photo_time(turn: Turn, question: Question, taken_at: datetime) -> None:
    """A file's own time is a hint, never an answer: it is offered, half an hour either way."""
    local = taken_at.astimezone(turn.programme.zone)
    when = When(local - timedelta(minutes=30), local + timedelta(minutes=30), ("photo",))
    words = f"{turn.speaker.day(local)} {local:%H:%M}"
    turn.change(asked=Asked(question.key, turn.at, (Choice(words, when),)))
    turn.say("question", "photo_when", when=words)


def _was_asked(turn: Turn, question: Question) -> bool:
    """A question is worded otherwise the second time it is asked."""
    asked = turn.now.asked
    return bool(turn.now.misses.get(question.key)) or bool(asked and asked.question == question.key)


def _unclear(turn: Turn, spoken: Spoken) -> tuple[str, Unclear] | None:
    """The first doubt about a question that is still open, with the question it belongs to."""
    if spoken.answering in LEFT_OPEN:
        return None  # "Tomorrow after five" is when to come; nothing there is in doubt.
    for doubt in spoken.reading.unclear:
        key = UNCLEAR_QUESTION[doubt.question]
        if doubt.question == "place" and spoken.answering == "head_at":
            key = "head_at"
        question = turn.dialog.by_key[key]
        if is_open(question, turn.now, turn.programme) or spoken.corrects:
            return key, doubt
    return None


def _say_why(turn: Turn, doubt: Unclear) -> None:
    key = f"why.{doubt.why}"
    if key in turn.dialog.sentences["en"]:
        turn.say("notice", key)


def _settle(turn: Turn) -> None:
    """Everything that matters was asked."""
    if turn.now.stage == "settled":
        turn.change(asked=None)
        return
    turn.change(stage="settled", asked=None)
    if turn.now.kind != "clean":
        turn.say("notice", "all_done")
    elif (several := animals_told(turn.now)) > 1:
        turn.say("notice", "clean_done_many", count=several)
    else:
        turn.say("notice", "clean_done")
