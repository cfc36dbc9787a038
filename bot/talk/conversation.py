"""The hunter's conversation: every transition, and nothing that is not a decision.

Law of this file: `step` is pure. It takes the time from the event, never from a clock; it sends
nothing and stores nothing; safety comes first in every reply; one question at a time; and
nobody hears "I couldn't read that" twice about one thing before a person takes over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from msgspec.structs import replace

from bot.messages import (
    AuthorityTold,
    Brought,
    Closed,
    Correction,
    Effect,
    Entered,
    Event,
    HandedBack,
    JawNews,
    Joined,
    KeepFind,
    NumberProved,
    PersonWrote,
    PickupNews,
    Result,
    ResultApproved,
    SendNow,
    SendText,
    Silence,
    SplitOff,
    TakenOver,
    Text,
)
from bot.programme import Programme
from bot.reading.area import kilometres_outside
from bot.reading.read import read
from bot.reading.values import Animal, Found, Place, Reading, When
from bot.scenes import read_text, scene_for
from bot.talk.advice import advice_for
from bot.talk.asking import ask_next
from bot.talk.bringing import hear_bringing, is_choosing_depot, take_out_depot
from bot.talk.carcase import hear_carcase
from bot.talk.dialog import Dialog
from bot.talk.filling import Filled, Spoken, fill
from bot.talk.gland_check import guide, lapse, located, offer
from bot.talk.listening import (
    ENDS_THE_TURN,
    OFFHAND,
    chosen,
    hear_exposure,
    hear_storage,
    hear_trouble,
    hear_wishes,
    refuses_offer,
    said_roughly,
    take_choice,
)
from bot.talk.pickup_talk import (
    call_off,
    kill_place,
    on_pickup_news,
    open_pickup,
    pickup_place,
    tend_pickup,
)
from bot.talk.proving import on_number_proved
from bot.talk.replying import give_code, greet, keep_find, reply
from bot.talk.results_talk import (
    on_authority_told,
    on_jaw_news,
    on_result,
    on_result_approved,
)
from bot.talk.sorting import on_brought, on_entered, on_joined, on_split_off
from bot.talk.state import Answer, Conversation, Said
from bot.talk.turn import Turn

LONG_TEXT = 12
REPLY_LOST = timedelta(minutes=10)


class NotUnderstood(ValueError):
    """A coordinator's correction that no reader could read; nothing was changed."""


def step(
    conversation: Conversation, event: Event, dialog: Dialog, programme: Programme
) -> tuple[Conversation, tuple[Effect, ...]]:
    """Move a conversation on by one event; decide what to say and do, and do none of it.

    NotUnderstood, for a coordinator's correction in words that nobody can read, is the only
    error that a caller must expect.
    """
    turn = Turn(replace(conversation, turn=conversation.turn + 1), event.at, dialog, programme)
    ON_EVENT[type(event)](turn, event)
    return turn.finish()


# ------------------------------------------------------------------------------- hunter's text


def _on_text(turn: Turn, event: Text) -> None:
    if event.channel:  # The hunter goes on by text, or in the browser: so do we.
        turn.change(channel=event.channel)
    if _is_repeat(turn, event):
        return
    spoken = located(_listen(turn, event), turn.now, turn.dialog.check_steps)
    turn.speak(spoken.reading.language)
    turn.change(last_text_at=event.sent_at)
    turn.settle("no_answer")
    if turn.now.opted_out and "start" not in spoken.keys("wish"):
        _after_stop(turn, spoken)
        return
    troubled = hear_trouble(turn, spoken)
    exposed = hear_exposure(turn, spoken)
    wishes = hear_wishes(turn, spoken)
    refused = refuses_offer(turn, spoken)
    filled = _fill(turn, spoken)
    corrects = bool(spoken.words("correction")) and not (filled.learned or spoken.brings)
    turn.change(correcting=corrects)
    hear_storage(turn, spoken)
    if turn.now.with_person or troubled or ENDS_THE_TURN & set(wishes):
        turn.advise(event.body)
        keep_find(turn)
        tend_pickup(turn, filled.for_staff)
        if turn.now.with_person:
            turn.ask_coordinator("hunter_wrote", event.body)
        elif not (turn.now.greeted or troubled or turn.now.opted_out or OFFHAND & set(wishes)):
            greet(turn, understood=True)
        return
    told = [hear_carcase(turn, spoken), hear_bringing(turn, spoken, filled)]
    heard = bool(exposed or wishes or refused or any(told) or spoken.words("check"))
    reply(turn, spoken, filled, heard)
    if "check" in wishes or guide(turn, spoken) or is_choosing_depot(turn):
        return
    offer(turn)
    if turn.now.correcting and turn.now.answers:
        return
    if turn.now.asked and said_roughly(spoken, wishes) and not filled.learned:
        return
    ask_next(turn, spoken)


def _is_repeat(turn: Turn, event: Text) -> bool:
    """A long text that came before, word for word, says nothing new.

    Sent again well after our reply it means that the reply was lost: the question stands again.
    """
    folded = " ".join(event.body.lower().split())
    if len(folded) < LONG_TEXT or event.pin or event.photos or turn.now.checking:
        return False
    if folded not in turn.now.recent:
        turn.change(recent=(*turn.now.recent[-3:], folded))
        return False
    asked = turn.now.asked
    if asked and event.sent_at - asked.at > REPLY_LOST and asked.question in turn.dialog.by_key:
        turn.ask(turn.dialog.by_key[asked.question])
    return True


def _listen(turn: Turn, event: Text) -> Spoken:
    """Read a text with the question it answers: one that was out before the text was sent.

    Gateways give whole seconds, so the question's own time is cut to those too.
    """
    asked = turn.now.asked
    fresh = asked is not None and event.sent_at >= asked.at.replace(microsecond=0)
    answering = asked.question if asked and fresh else ""
    # Where the head is now is read like where it is, whatever the question is called.
    asks = "head_at" if answering == "not_there" else answering
    whole = read_text(turn.programme, turn.dialog.words, event.body, event.sent_at, asks)
    reading, brings = take_out_depot(whole, turn.programme, answering)
    photo_at = next((p.taken_at for p in event.photos if p.taken_at), None)
    return Spoken(
        _with_positions(reading, event),
        event.sent_at,
        answering=answering,
        photo_at=photo_at,
        brings=brings,
        after_wrong=turn.now.correcting,
    )


def _with_positions(reading: Reading, event: Text) -> Reading:
    """The reading with the telephone's or the photo's own position, where no words gave one."""
    pins = [("pin", event.pin, "")] if event.pin else []
    pins += [("photo", p.pin, "kill") for p in event.photos if p.pin]
    if not pins or reading.places:
        return reading
    notation, pin, role = pins[0]
    place = Place(pin.lat, pin.lon, pin.accuracy_m, notation, role=role)  # type: ignore[arg-type]
    return replace(reading, places=(Found(place, notation),))


def _fill(turn: Turn, spoken: Spoken) -> Filled:
    """Put what was read into the answers: the picked choice, or all that the readers found."""
    choice = chosen(turn, spoken)
    if choice:
        filled = take_choice(turn, spoken, choice)
    elif refuses_offer(turn, spoken):
        filled = Filled(turn.now)
    else:
        filled = fill(turn.now, spoken)
    turn.now = filled.conversation
    kills = [f.value for f in spoken.reading.places if f.value.role != "pickup"]
    if len(kills) > 1 and (spoken.words("candidates") or len(kills) > 2):
        turn.change(candidates=tuple(kills), answers=_without_kill_place(turn, spoken))
        turn.say("notice", "candidates", count=len(kills))
        turn.ask_coordinator("several_carcases", spoken.reading.text)
    _check_area(turn, filled)
    if filled.refused:
        turn.ask_coordinator("hunter_corrects_coordinator", spoken.reading.text)
    return filled


def _without_kill_place(turn: Turn, spoken: Spoken) -> dict[str, Answer]:
    """The answers with the kill place left to a person: none of the candidates is picked."""
    heard = spoken.reading.text
    open_one = Answer("kill_place", Said(), heard, spoken.sent_at, spoken.by, declined=True)
    return {**turn.now.answers, "kill_place": open_one}


def _check_area(turn: Turn, filled: Filled) -> None:
    """A telephone's own position is no slip of the pen: far outside, it is a person's matter."""
    place = kill_place(turn.now)
    if "kill_place" not in filled.learned or place is None:
        return
    outside = kilometres_outside(place, turn.programme.area)
    if outside > turn.programme.head.near_km:
        turn.ask_coordinator("outside_area", f"{place.lat:.5f}, {place.lon:.5f}")


def _after_stop(turn: Turn, spoken: Spoken) -> None:
    """Who stopped our texts and writes of a sign still gets the advice, once, and a person."""
    hear_trouble(turn, spoken)
    hear_exposure(turn, spoken)
    turn.now = fill(turn.now, spoken).conversation
    turn.advise(spoken.reading.text)
    give_code(turn)
    if turn.parts:
        turn.say_once("advice", "after_stop")
    turn.ask_coordinator("wrote_after_stop", spoken.reading.text)


# -------------------------------------------------------------------------------- other events


def _on_silence(turn: Turn, event: Silence) -> None:
    """One reminder, then the coordinator's list. A silence that was overtaken does nothing."""
    now = turn.now
    overtaken = event.mark != now.silence_mark or now.asked is None or now.with_person
    if overtaken or now.opted_out or now.stage == "closed":
        turn.change(turn=now.turn - 1)
        return
    if now.checking:
        lapse(turn)
        ask_next(turn)
        return
    question = now.asked.question if now.asked else ""
    if now.reminders == 0 and question in turn.dialog.by_key:
        turn.change(reminders=1)
        turn.say("reminder", f"{question}.remind")
        turn.wait(turn.programme.head.patience.give_up)
    else:
        turn.ask_coordinator("no_answer")


def _on_correction(turn: Turn, event: Correction) -> None:
    """The coordinator's words, read by the same readers as if the question had just been asked."""
    scene = scene_for(turn.programme, turn.dialog.words, event.at, event.question)
    reading = read(event.words, scene)
    if event.pin:
        place = Place(event.pin.lat, event.pin.lon, event.pin.accuracy_m, "pin")
        reading = Reading(event.words, places=(Found(place, event.words or "pin"),))
    if event.choice:
        reading = _offered(turn.now, event)
    spoken = Spoken(reading, event.at, by=f"coordinator:{event.by}", answering=event.question)
    filled = fill(turn.now, spoken)
    if event.question not in filled.learned:
        raise NotUnderstood(f"{event.question}: cannot read {event.words!r}")
    turn.now = filled.conversation
    turn.settle(f"unread_{event.question}", "hunter_corrects_coordinator")
    if not turn.now.with_person:
        turn.advise(event.words)
    keep_find(turn)
    tend_pickup(turn, filled.for_staff)
    if turn.now.asked and turn.now.asked.question == event.question:
        turn.change(asked=None)  # What was being asked is known now.
        if not (turn.now.opted_out or turn.now.stage == "closed"):
            ask_next(turn)


def _offered(now: Conversation, event: Correction) -> Reading:
    """The reading of one choice that stands open for a question; NotUnderstood if none does."""
    asked = now.asked
    open_ones = asked.choices if asked and asked.question == event.question else ()
    if not 0 < event.choice <= len(open_ones):
        raise NotUnderstood(f"{event.question}: no choice {event.choice} is on offer")
    choice = open_ones[event.choice - 1]
    match choice.value:
        case Place():
            place = replace(choice.value, role="")  # Which place it is, the question says.
            return Reading(choice.words, places=(Found(place, choice.words),))
        case When():
            return Reading(choice.words, when=Found(choice.value, choice.words))
        case Animal():
            return Reading(choice.words, animal=Found(choice.value, choice.words))
    raise NotUnderstood(f"{event.question}: choice {event.choice} says nothing exact")


def _on_taken_over(turn: Turn, event: TakenOver) -> None:
    turn.change(with_person=True, asked=None, checking="")


def _on_handed_back(turn: Turn, event: HandedBack) -> None:
    turn.change(with_person=False)
    turn.settle("asked_for_person", "hunter_wrote", "no_answer", "person_in_trouble")
    tend_pickup(turn, ())
    if not turn.now.opted_out and turn.now.stage != "closed":
        ask_next(turn)


def _on_person_wrote(turn: Turn, event: PersonWrote) -> None:
    turn.settle("asked_for_person", "hunter_wrote")
    turn.effect(SendText(event.body, "person"))


def _on_closed(turn: Turn, event: Closed) -> None:
    if event.reason != "finished":
        call_off(turn, event.reason)
    if event.reason == "no_find":
        turn.effect(KeepFind("no_find"))
    turn.settle(*turn.now.reviews)
    turn.change(stage="closed", asked=None, with_person=False)


def _on_send_now(turn: Turn, event: SendNow) -> None:
    """A person has looked and lets somebody be sent, where the bot may not by itself."""
    place = pickup_place(turn.now) or kill_place(turn.now)
    if place is None:
        raise NotUnderstood("head_at: no place to send anybody to")
    if turn.now.pickup is None or turn.now.pickup.state == "called_off":
        open_pickup(turn, place, event.by)
    if found := advice_for(turn.now.kind, turn.dialog, turn.programme):
        turn.settle(found[1].review)  # Who is to go, and for what, has been decided.


ON_EVENT: Mapping[type, Callable[[Turn, Any], None]] = {
    Text: _on_text,
    NumberProved: on_number_proved,
    Silence: _on_silence,
    Correction: _on_correction,
    TakenOver: _on_taken_over,
    HandedBack: _on_handed_back,
    PersonWrote: _on_person_wrote,
    Closed: _on_closed,
    PickupNews: on_pickup_news,
    SendNow: _on_send_now,
    Result: on_result,
    AuthorityTold: on_authority_told,
    ResultApproved: on_result_approved,
    JawNews: on_jaw_news,
    Entered: on_entered,
    Joined: on_joined,
    SplitOff: on_split_off,
    Brought: on_brought,
}
