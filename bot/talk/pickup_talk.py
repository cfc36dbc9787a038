"""Where the conversation meets its pickup: opening it, keeping it true, and telling its news."""

from __future__ import annotations

from typing import Literal

from msgspec.structs import replace

from bot.messages import CallOff, OpenPickup, PickupNews, Stage, UpdatePickup
from bot.reading.values import Animal, Place, When
from bot.talk.advice import may_open
from bot.talk.segments import clip
from bot.talk.state import Conversation, PickupView, Said, Seen
from bot.talk.turn import Turn
from bot.talk.way_in import FOR_STAFF, IN_VAIN, access_words

LIVE = ("waiting", "offered", "taken", "with_coordinator", *IN_VAIN)
"""States in which a pickup may still be called off or changed by the hunter's words."""

VIEWS = (*LIVE, "collected", "handed_in", "called_off", "brings")
"""How a talk may see its pickup: "brings" is its hunter on the way to a depot."""

GONE = frozenset({"binned", "dog_took"})
"""Where the head is no longer to be had; a boiled one still has its jaw."""


def pickup_place(conversation: Conversation) -> Place | None:
    """Where staff must drive to: where the head is, or where the animal lies if it is there."""
    answer = conversation.answers.get("head_at")
    if answer is None:
        # Who wants the whole carcase gone has it where it fell, until he says otherwise.
        return kill_place(conversation) if "carcase" in conversation.answers else None
    if isinstance(answer.value, Place):
        return answer.value
    if isinstance(answer.value, Said) and "with_carcase" in answer.value.keys:
        return kill_place(conversation)
    return None


def kill_place(conversation: Conversation) -> Place | None:
    """Where the animal died, once it is known."""
    answer = conversation.answers.get("kill_place")
    return answer.value if answer and isinstance(answer.value, Place) else None


def number_to_call(conversation: Conversation) -> str:
    """The number that was given to call; "" means the one that texts."""
    answer = conversation.answers.get("contact")
    return answer.value.words if answer and isinstance(answer.value, Said) else ""


def can_reach(conversation: Conversation) -> bool:
    """Whether anybody can ring: whoever texts has a number, a browser has none of its own."""
    return conversation.channel == "sms" or bool(number_to_call(conversation))


def head_is_gone(conversation: Conversation) -> bool:
    """Whether there is nothing left to fetch."""
    storage = conversation.answers.get("storage")
    value = storage.value if storage else None
    keys = set(value.keys) if isinstance(value, Said) else set()
    return bool(GONE & keys) and "found_again" not in keys


def brings_it(conversation: Conversation) -> bool:
    """Whether the hunter takes the head to a depot himself, or has."""
    answer = conversation.answers.get("depot")
    return answer is not None and not answer.declined


def tend_pickup(turn: Turn, changed: tuple[str, ...]) -> None:
    """Open the pickup once a sign, a place and a way to ring are there; keep it true after."""
    now = turn.now
    if now.pickup is not None and now.pickup.state in LIVE:
        _keep_true(turn, changed)
        return
    place = pickup_place(now)
    allowed = may_open(now.kind, turn.dialog, turn.programme)
    # Nobody is sent for a head while its hunter is lost or hurt, until a person hands back, nor
    # for one that he takes to a depot himself.
    kept_back = "person_in_trouble" in now.reviews or brings_it(now)
    if now.pickup is not None or not allowed or kept_back:
        return
    if head_is_gone(now):
        turn.ask_coordinator("head_gone")
    elif place is not None and can_reach(now):
        open_pickup(turn, place, "bot")


def _keep_true(turn: Turn, changed: tuple[str, ...]) -> None:
    """A sign that is no longer only in the head takes back what the bot sent for; a person may
    send again. Otherwise staff hear of another place, and of what the hunter says to them."""
    now, place = turn.now, pickup_place(turn.now)
    if now.opened_by == "bot" and not may_open(now.kind, turn.dialog, turn.programme):
        call_off(turn, now.kind)
        return
    if head_is_gone(now):
        turn.ask_coordinator("head_gone")
    place = place or kill_place(now)
    if place and set(changed) & {"head_at", "kill_place", *FOR_STAFF}:
        turn.effect(
            UpdatePickup(
                lat=place.lat,
                lon=place.lon,
                place_words=turn.for_staff.place_to_fetch(place),
                details=details(turn),
                stages=stages(turn.now),
                access=access_words(now.answers),
                contact=number_to_call(now),
            )
        )


def open_pickup(turn: Turn, place: Place, by: str) -> None:
    """Open the find's one pickup at a place, or open it again after it was called off."""
    turn.change(pickup=PickupView("waiting", at=turn.at), opened_by=by)
    turn.settle("head_gone")
    turn.effect(order_for(turn, place))


def order_for(turn: Turn, place: Place) -> OpenPickup:
    """The pickup of this find at a place, with all that staff should know."""
    return OpenPickup(
        lat=place.lat,
        lon=place.lon,
        accuracy_m=place.accuracy_m,
        place_words=turn.for_staff.place_to_fetch(place),
        details=details(turn),
        contact=number_to_call(turn.now),
        species=species(turn.now),
        whole_carcase="carcase" in turn.now.answers,
        stages=stages(turn.now),
        visit=not may_open(turn.now.kind, turn.dialog, turn.programme),
        access=access_words(turn.now.answers),
    )


def species(conversation: Conversation) -> str:
    """The species as the programme's settings name it, or ""."""
    answer = conversation.answers.get("species")
    return answer.value.species if answer and isinstance(answer.value, Animal) else ""


def stages(conversation: Conversation) -> tuple[Stage, ...]:
    """How warm the head was kept: warm from the earliest time of death, or the first text, till
    the text that says it is cold. Since when it has been cold nobody is asked."""
    when, storage = conversation.answers.get("when"), conversation.answers.get("storage")
    died = when.value.earliest if when and isinstance(when.value, When) else None
    air = conversation.answers.get("air")
    air_c = float(air.value.words) if air and isinstance(air.value, Said) else None
    warm = Stage("warm", died or conversation.started_at, air_c)
    if storage is None or not isinstance(storage.value, Said):
        return (warm,)
    cold: Literal["frozen", "chilled"] = "frozen" if "frozen" in storage.value.keys else "chilled"
    known = cold in storage.value.keys and storage.at > warm.since
    return (warm, Stage(cold, storage.at)) if known else (warm,)


def details(turn: Turn) -> str:
    """What staff should know besides the place, in a few words."""
    answers = turn.now.answers
    parts: list[str] = []
    if (species := answers.get("species")) and isinstance(species.value, Animal):
        parts.append(turn.for_staff.animal(species.value))
    if (seen := answers.get("seen")) and isinstance(seen.value, Seen):
        parts += [turn.for_staff.sign(s) for s in seen.value.signs[:2]]
    for key in ("storage", "land", "name"):
        answer = answers.get(key)
        if answer and not answer.declined and isinstance(answer.value, Said):
            parts.append(turn.for_staff.said(answer.value))
    return clip(", ".join(dict.fromkeys(filter(None, parts))), 90)


def call_off(turn: Turn, reason: str) -> None:
    """Nothing is to be fetched any more."""
    if turn.now.pickup and turn.now.pickup.state in LIVE:
        turn.change(pickup=PickupView("called_off", at=turn.at))
        turn.effect(CallOff(reason))


SILENT = frozenset({"waiting", "offered"})
"""Steps of the search: the hunter hears of them only where they carry words (a time)."""


def on_pickup_news(turn: Turn, event: PickupNews) -> None:
    """Tell the hunter how the pickup stands; the same news twice, and steps of the search that
    change nothing for him, say nothing."""
    before = turn.now.pickup
    now = PickupView(event.state, event.staff_name, event.at, event.words)
    turn.change(pickup=now)
    same = before is not None and replace(before, at=event.at) == now
    nothing_new = same or (event.state in SILENT and not event.words)
    key = _visit_key(turn, f"news_{event.state}")
    alone = turn.now.opted_out or turn.now.with_person or turn.now.stage == "closed"
    if event.state in IN_VAIN and alone:
        turn.ask_coordinator(event.state, event.words)  # A person asks him what next.
        return
    if turn.now.opted_out or nothing_new or key not in turn.dialog.sentences["en"]:
        return
    words = clip(event.words, 40)
    said = event.words and turn.speaker.say("news_taken_words", words=words)
    name = clip(event.staff_name, 30)
    turn.say("news", key, staff=name, number=event.staff_number, said=said, words=words)
    if event.state in IN_VAIN:
        _ask_what_next(turn, event.state)


def _ask_what_next(turn: Turn, state: str) -> None:
    """One question after a visit in vain; an answer to it from an earlier visit is an old one."""
    turn.change(
        answers={k: a for k, a in turn.now.answers.items() if k != state},
        misses={k: n for k, n in turn.now.misses.items() if k != state},
        reminders=0,
    )
    turn.ask(turn.dialog.by_key[state])
    turn.wait(turn.programme.head.patience.reminder)


def _visit_key(turn: Turn, key: str) -> str:
    """What is only looked at where it lies has words of its own: nothing is fetched or cooled."""
    visit = f"{key}_visit"
    bagged = may_open(turn.now.kind, turn.dialog, turn.programme)
    return key if bagged or visit not in turn.dialog.sentences["en"] else visit


def say_status(turn: Turn) -> None:
    """How the pickup stands, in a sentence."""
    pickup = turn.now.pickup
    state = "none" if pickup is None else pickup.state
    key = _visit_key(turn, "status_offered" if state == "waiting" else f"status_{state}")
    if turn.now.result_told:
        key = "status_result"
    known = turn.dialog.sentences["en"]
    name = clip(pickup.staff_name, 30) if pickup else ""
    key = key if key in known else _visit_key(turn, "status_with_coordinator")
    turn.say("notice", key, staff=name, words=pickup.words if pickup else "")
