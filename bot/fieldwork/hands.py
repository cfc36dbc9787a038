"""PURE. From hand to hand: taken, given, collected, handed in, changed, called off."""

from __future__ import annotations

from msgspec.structs import replace

from bot.fieldwork.case import (
    NO_NOTED,
    Case,
    Effects,
    Outcome,
    answered,
    asking,
    at_rest,
    closed,
    refusing,
    settling,
    waiting_minutes,
)
from bot.fieldwork.spoiling import best_by
from bot.fieldwork.state import Pickup
from bot.messages import Assigned, BroughtIn, CalledOff, PickupChanged

HUNTER = "hunter"
"""`CalledOff.by` where the hunter called it off; he needs no news of it."""

BRINGS = "hand_in"
"""`CalledOff.reason` where the hunter takes the head to a depot himself."""

IN_VAIN = frozenset({"not_there", "nobody_home", "no_access", "wrong_head"})
"""Reasons for which a person finds out what next, before anybody goes again."""


def take(case: Case) -> Outcome:
    """A yes: it is theirs, the hunter hears who comes and when."""
    pickup, effects = _held_by(case, case.sender, case.words)
    texts = case.text(case.sender, "yours", pickup)
    return pickup, (*texts, *effects)


def take_if_asked(case: Case) -> Outcome:
    """A late yes is welcome while nobody has it, from one who had been asked."""
    if case.sender not in case.pickup.asked:
        return refusing(case, "not_offered")
    if IN_VAIN & set(case.pickup.reviews):
        return refusing(case, "with_the_coordinator")
    return take(case)


def late_no(case: Case) -> Outcome:
    """A no from one whose offer has lapsed is written down; the search is further already."""
    last = [o for o in case.pickup.offers if o.staff_id == case.sender]
    if not last or last[-1].answer == "no":
        return refusing(case, "not_offered")
    offers = tuple(replace(o, answer="no") if o is last[-1] else o for o in case.pickup.offers)
    pickup = replace(case.pickup, offers=offers)
    return pickup, case.text(case.sender, NO_NOTED[pickup.state], pickup)


def give(case: Case) -> Outcome:
    """The coordinator gives it to one person, whoever had it before."""
    assert isinstance(case.event, Assigned)  # noqa: S101 - the table's own promise
    staff_id = case.event.staff_id
    if staff_id == case.pickup.staff_id:
        return refusing(case, "already_theirs")
    pickup, effects = _held_by(case, staff_id, "")
    return pickup, (*case.text(staff_id, "assigned", pickup), *effects)


def say_when(case: Case) -> Outcome:
    """The holder says again when he comes."""
    if not case.words or case.words == case.pickup.words:
        return refusing(case, "already_yours")
    pickup = replace(case.pickup, words=case.words)
    texts = case.text(case.sender, "when_noted", pickup)
    return pickup, (*texts, *case.news("taken", case.sender, case.words))


def collect(case: Case) -> Outcome:
    """They have it; now it must reach the laboratory."""
    withdrawn = _withdraw(case, case.sender)
    pickup = closed(answered(case.pickup, case.sender, "yes"), "withdrawn")
    pickup = replace(pickup, state="collected", staff_id=case.sender)
    pickup, settled = settling(pickup)
    pickup, wait = waiting_minutes(pickup, case.at, case.programme.head.patience.hand_in)
    texts = case.text(case.sender, "collected_noted", pickup)
    news = case.news("collected", case.sender)
    return pickup, (*texts, *withdrawn, *settled, *news, *wait)


def hand_in(case: Case) -> Outcome:
    """It is at the laboratory or the depot: the pickup is over."""
    withdrawn = _withdraw(case, case.sender)
    pickup = closed(answered(case.pickup, case.sender, "yes"), "withdrawn")
    pickup = at_rest(replace(pickup, state="handed_in", staff_id=case.sender))
    pickup, settled = settling(pickup)
    texts = case.text(case.sender, "handed_in_noted", pickup)
    return pickup, (*texts, *withdrawn, *settled, *case.news("handed_in", case.sender))


def bring_in(case: Case) -> Outcome:
    """The hunter has handed it in himself: whoever was coming is told kindly."""
    before = case.pickup
    texts = case.texts(before.with_whom, "hunter_brought", before)
    pickup = at_rest(replace(closed(before, "withdrawn"), state="handed_in", staff_id=HUNTER))
    pickup, settled = settling(pickup)
    return pickup, (*texts, *settled)


def brought_too(case: Case) -> Outcome:
    """The hunter says that he handed in what somebody has fetched: a person clears it up."""
    assert isinstance(case.event, BroughtIn)  # noqa: S101 - the table's own promise
    pickup, effects = refusing(case, "collected_by_other")
    pickup, ask = asking(pickup, "two_hold_it", case.event.heard)
    return pickup, (*effects, *ask)


def cannot_hand_in(case: Case) -> Outcome:
    """Whoever has the head can't bring it on. It stays with him till a person has sorted it."""
    pickup, ask = asking(case.pickup, "cannot_hand_in", case.words)
    return pickup, (*case.text(case.sender, "kept_noted", pickup), *ask)


def not_collected(case: Case) -> Outcome:
    """Taken long ago and still not fetched."""
    return asking(at_rest(case.pickup), "not_collected_yet")


def not_handed_in(case: Case) -> Outcome:
    """Fetched long ago and still not handed in."""
    return asking(at_rest(case.pickup), "not_handed_in")


def contest(case: Case) -> Outcome:
    """A second person says he has it. Nothing moves, and a person must clear it up."""
    pickup, texts = refusing(case, "two_hold_it")
    heard = f"{case.name(case.sender)}: {case.words}".rstrip(": ")
    pickup, ask = asking(pickup, "two_hold_it", heard)
    return pickup, (*texts, *ask)


def call_off(case: Case) -> Outcome:
    """Nothing is to be fetched any more; whoever has it or is offered it is told."""
    assert isinstance(case.event, CalledOff)  # noqa: S101 - the table's own promise
    before = case.pickup
    key = "hunter_brings" if case.event.reason == BRINGS else "called_off"
    texts = case.texts(before.with_whom, key, before)
    pickup = at_rest(replace(closed(before, "withdrawn"), state="called_off", staff_id=""))
    pickup, settled = settling(pickup)
    told = case.event.by == HUNTER
    news = () if told else case.news("called_off", words=case.event.reason)
    return pickup, (*texts, *settled, *news)


def call_off_collected(case: Case) -> Outcome:
    """A head that is on its way is called off by a person, not by the hunter's text."""
    assert isinstance(case.event, CalledOff)  # noqa: S101 - the table's own promise
    if case.event.by != HUNTER:
        return call_off(case)
    pickup, effects = refusing(case, "already_collected")
    pickup, ask = asking(pickup, "called_off_after_collected", case.event.reason)
    return pickup, (*effects, *ask)


def change(case: Case) -> Outcome:
    """The place or the details are new: whoever has it or is offered it is told."""
    event, before = case.event, case.pickup
    assert isinstance(event, PickupChanged)  # noqa: S101 - the table's own promise
    stages = event.stages or before.stages
    pickup = replace(
        before,
        lat=event.lat,
        lon=event.lon,
        place_words=event.place_words,
        details=event.details or before.details,
        stages=stages,
        best_by=best_by(stages, case.programme.head.spoiling),
        access=event.access or before.access,
        contact=event.contact or before.contact,
    )
    if pickup == before:
        return refusing(case, "nothing_new")
    if replace(pickup, stages=before.stages, best_by=before.best_by) == before:
        # Nobody need hear of it: the time by which to be there moves the review list alone.
        return pickup, ()
    told = replace(pickup, access=before.access, contact=before.contact) == before
    if pickup.state == "with_coordinator":
        return asking(pickup, "pickup_changed", event.access if told else event.place_words)
    return pickup, _pass_on(case, pickup) if told else case.texts(
        pickup.with_whom, "changed", pickup
    )


def _pass_on(case: Case, pickup: Pickup) -> Effects:
    """What the hunter says to whoever comes: the new words alone, since the rest was told. Who is
    only being asked hears all of it with his yes."""
    if pickup.state == "offered":
        return ()
    known = case.pickup.access.split("; ")
    fresh = "; ".join(part for part in pickup.access.split("; ") if part not in known)
    if fresh:
        return case.texts(pickup.with_whom, "told", pickup, access=fresh)
    return case.texts(pickup.with_whom, "contact_changed", pickup)


def _held_by(case: Case, staff_id: str, words: str) -> Outcome:
    """One person holds it from now on, and everybody else is out of it."""
    withdrawn = _withdraw(case, staff_id)
    pickup = closed(answered(case.pickup, staff_id, "yes"), "withdrawn")
    pickup = replace(pickup, state="taken", staff_id=staff_id, words=words)
    pickup, settled = settling(pickup)
    pickup, wait = waiting_minutes(pickup, case.at, case.programme.head.patience.collect)
    return pickup, (*withdrawn, *settled, *case.news("taken", staff_id, words), *wait)


def _withdraw(case: Case, staff_id: str) -> Effects:
    """Tell whoever had it, or was being asked, that another has it now."""
    others = [who for who in case.pickup.with_whom if who != staff_id]
    return case.texts(others, "withdrawn", case.pickup, name=case.name(staff_id))
