"""What the desk's pages show, made of what the service reads: values in words, times as spans."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.fieldwork.state import Pickup
from bot.reading.values import Place
from bot.service.desk_rows import Card as Found
from bot.service.desk_rows import Line, ReviewRow, Waiting
from bot.service.limits import HELD
from bot.talk.planning import matters
from bot.talk.segments import clip
from bot.talk.state import Answer, Conversation, Seen
from bot.talk.wording import Speaker
from bot.web.sketch import Sketch, sketch_of
from bot.web.wiring import Wiring
from bot.web.words import moment, sentence

PLACES = {"kill_place": "kill", "head_at": "head"}
LONGEST_HEARD = 120


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the review list. `warm` is how long the head has been without cold."""

    code: str
    reasons: tuple[str, ...]
    at_once: bool
    waits: timedelta
    warm: timedelta | None
    about: str
    heard: str
    taken_by: str


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """One answer on the card: what was understood, and the words that it came from."""

    question: str
    words: str = ""
    detail: str = ""
    heard: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class TalkLine:
    """One text on the card. `who` is hunter, us, or us person."""

    who: str
    name: str
    at: datetime
    body: str
    notes: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PickupLine:
    """How the pickup stands."""

    state: str
    staff: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """One find's page. `unasked` are the questions that have no place in it as it stands."""

    code: str
    turn: int
    kind: str
    state: str
    reasons: tuple[ReviewRow, ...]
    answers: tuple[AnswerLine, ...]
    unasked: tuple[str, ...]
    sketch: Sketch | None
    pickup: PickupLine | None
    talk: tuple[TalkLine, ...]
    cost: str
    archived_at: datetime | None
    hunter: str
    with_person: bool
    closed: bool
    may_send: bool


def _answer_lines(conversation: Conversation, wiring: Wiring) -> tuple[AnswerLine, ...]:
    """Every question that matters to the find or was answered, in the dialog's order, then what
    else was answered."""
    speaker = Speaker(conversation, wiring.dialog, wiring.programme)
    unasked = _unasked(conversation, wiring)
    asked = [question.key for question in wiring.dialog.questions if question.key not in unasked]
    more = [key for key in conversation.answers if key not in asked]
    return tuple(_answer_line(key, conversation.answers.get(key), speaker) for key in asked + more)


def _unasked(conversation: Conversation, wiring: Wiring) -> tuple[str, ...]:
    """The questions that have neither an answer nor a place in the find as it stands."""
    return tuple(
        question.key
        for question in wiring.dialog.questions
        if question.key not in conversation.answers
        and not matters(question, conversation, wiring.programme)
    )


def _answer_line(question: str, answer: Answer | None, speaker: Speaker) -> AnswerLine:
    if answer is None:
        return AnswerLine(question)
    words = "would rather not say" if answer.declined else _words(answer, speaker)
    return AnswerLine(question, words, _detail(answer), answer.heard, _by(answer.by))


def _words(answer: Answer, speaker: Speaker) -> str:
    """An answer in words; what was seen and what was looked at, each by its name."""
    if not isinstance(answer.value, Seen):
        return speaker.answer(answer)
    seen = [speaker.sign(sign) for sign in answer.value.signs]
    return ", ".join(seen) or ("nothing odd" if answer.value.clean else speaker.answer(answer))


def _detail(answer: Answer) -> str:
    """What a place's notation fixes, and what was completed in it."""
    if not isinstance(answer.value, Place):
        return ""
    good = f"good to {answer.value.accuracy_m:,.0f} m"
    return ", ".join((good, *answer.value.assumed))


def _by(by: str) -> str:
    if by.startswith("coordinator:"):
        return f"set by {by.partition(':')[2]}"
    return {"hunter": "heard", "pin": "from a position", "photo": "from a photo"}.get(by, by)


def _places_of(conversation: Conversation) -> list[tuple[str, str, Place]]:
    """The places for the sketch: where it died, where the head is, and what it may have been."""
    names = {"kill": "died here", "head": "head here"}
    found = [
        (sort, names[sort], answer.value)
        for question, sort in PLACES.items()
        if (answer := conversation.answers.get(question)) and isinstance(answer.value, Place)
    ]
    return found + [("kill", "or here", place) for place in conversation.candidates]


def _state_words(conversation: Conversation, wiring: Wiring) -> str:
    """How the conversation stands, in a sentence."""
    if conversation.stage != "closed" and conversation.with_person:
        return "A person has the talk."
    return sentence(wiring.words.of("stage", conversation.stage)) + "."


def list_rows(wiring: Wiring, now: datetime) -> list[Row]:
    """The review list, in the order in which the service gives it: most urgent first."""
    return [_row(waiting, wiring, now) for waiting in wiring.desk.review_list(now)]


def _row(waiting: Waiting, wiring: Wiring, now: datetime) -> Row:
    return Row(
        code=waiting.code,
        reasons=waiting.reasons,
        at_once=waiting.at_once,
        waits=now - waiting.opened_at,
        warm=waiting.warm,
        about=about(waiting.conversation, wiring),
        heard=next((clip(words, LONGEST_HEARD) for words in waiting.heard), ""),
        taken_by=waiting.taken_by,
    )


def about(conversation: Conversation, wiring: Wiring) -> str:
    """What and where, as far as it is known: "boar, sign in the head, 3.1 km NW of ..."."""
    speaker = Speaker(conversation, wiring.dialog, wiring.programme)
    told = (conversation.answers.get(key) for key in ("species", "kill_place"))
    known = [speaker.answer(answer) for answer in told if answer and not answer.declined]
    return ", ".join([wiring.words.of("kind", conversation.kind), *known])


def card_of(wiring: Wiring, found: Found) -> Card:
    """A find's page from what the service reads of it."""
    talk = found.conversation
    return Card(
        code=found.code,
        turn=found.turn,
        kind=talk.kind,
        state=_state_words(talk, wiring),
        reasons=tuple(row for row in found.reviews if row.closed_at is None),
        answers=_answer_lines(talk, wiring),
        unasked=_unasked(talk, wiring),
        sketch=sketch_of(_places_of(talk), wiring.programme),
        pickup=_pickup_line(found.pickup, wiring) if found.pickup else None,
        talk=tuple(_talk_line(line, wiring) for line in found.lines),
        cost=_cost(found.lines),
        archived_at=found.archived_at,
        hunter=_hunter(found),
        with_person=talk.with_person,
        closed=talk.stage == "closed",
        may_send=_may_send(found, wiring),
    )


def _may_send(found: Found, wiring: Wiring) -> bool:
    """Whether a person may release what the bot does not open: no pickup yet, and a reason."""
    talk, may_move = found.conversation, wiring.programme.head.law.head_may_move
    if found.pickup is not None or talk.stage == "closed" or talk.kind in ("", "clean"):
        return False
    return not (talk.kind == "head" and may_move)


def _hunter(found: Found) -> str:
    names = {"chat": "a visitor of the web chat", "desk": "somebody at the desk"}
    rings = found.channel == "sms" or found.number.startswith("+")
    who = found.number if rings else names[found.channel]
    return f"{who}, who wants no texts" if found.opted_out else who


def _pickup_line(pickup: Pickup, wiring: Wiring) -> PickupLine:
    names = {member.id: member.name for member in wiring.programme.roster}
    offers = [
        f"{names.get(offer.staff_id, offer.staff_id)}, {offer.km:.0f} km: "
        f"{wiring.words.of('offer', offer.answer)}"
        for offer in pickup.offers
    ]
    return PickupLine(pickup.state, names.get(pickup.staff_id, pickup.staff_id), tuple(offers))


def _talk_line(line: Line, wiring: Wiring) -> TalkLine:
    who, name = _speaker_of(line)
    notes = [f"position {line.pin.lat:.5f}, {line.pin.lon:.5f}"] if line.pin else []
    if not line.inward:
        notes.append(_delivery(line, wiring))
    keys = tuple(photo.key for photo in line.photos)
    return TalkLine(who, name, line.at, line.body, tuple(notes), keys)


def _speaker_of(line: Line) -> tuple[str, str]:
    if line.with_staff:
        return ("staff", "Staff") if line.inward else ("us", "To staff")
    if line.inward:
        return "hunter", "Hunter"
    return ("us person", "A person") if line.kind == "person" else ("us", "Bushpost")


def _delivery(line: Line, wiring: Wiring) -> str:
    count = f"{line.segments} segment{'s' if line.segments != 1 else ''}"
    held = line.state == "waiting" and line.error in HELD
    named = line.error if line.error == "by_voice" or held else line.report or line.state
    state = wiring.words.of("delivery", named)
    if line.reported_at is not None:
        state = f"{state} {moment(line.reported_at)}"
    failed = named in ("failed", "undeliverable") and line.error
    return f"{count}, {state} ({line.error})" if failed else f"{count}, {state}"


def _cost(lines: tuple[Line, ...]) -> str:
    sent = [line for line in lines if not line.inward and line.state != "withdrawn"]
    segments = sum(line.segments for line in sent)
    return f"{len(sent)} texts out, {segments} segments in all"
