"""PURE. Finding somebody: the next nearest, a wait till one comes on duty, the coordinator."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

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
    settling,
    waiting,
)
from bot.fieldwork.dispatch import Ranked, Wants, in_reach, next_duty, soonest
from bot.fieldwork.duty import is_on_call
from bot.fieldwork.spoiling import best_by
from bot.fieldwork.staff_texts import clock, offer_values
from bot.fieldwork.state import Offer, Pickup
from bot.messages import TellHunter, Unreached
from bot.programme import Programme


def open_it(case: Case) -> Outcome:
    """A new pickup looks for the first one to ask."""
    due = best_by(case.pickup.stages, case.programme.head.spoiling)
    return find(case, replace(case.pickup, opened_at=case.at, best_by=due))


def look_again(case: Case) -> Outcome:
    """The wait for somebody to come on duty is over."""
    return find(case, case.pickup)


def lapse(case: Case) -> Outcome:
    """Nobody answered in time: the next nearest."""
    return find(case, closed(case.pickup, "lapsed"))


def decline(case: Case) -> Outcome:
    """A no to an offer: the next nearest, once nobody is being asked any more."""
    pickup = answered(case.pickup, case.sender, "no")
    if pickup.open_offers:
        return pickup, case.text(case.sender, "no_noted_other", pickup)
    pickup, effects = find(case, pickup)
    return pickup, (*case.text(case.sender, NO_NOTED[pickup.state], pickup), *effects)


def miss(case: Case) -> Outcome:
    """An offer did not arrive: as after a no, but nobody is told, since he never knew of it."""
    assert isinstance(case.event, Unreached)  # noqa: S101 - the table's own promise
    pickup = answered(case.pickup, case.event.staff_id, "unreached")
    return (pickup, ()) if pickup.open_offers else find(case, pickup)


def give_back(case: Case) -> Outcome:
    """Whoever had taken it can't after all: the hunter hears of it, and the search goes on."""
    sender, before = case.sender, case.pickup
    if sender not in before.asked:
        # One who was given it by hand has no offer yet; this one keeps him from being asked.
        before = replace(before, offers=(*before.offers, Offer(sender, case.at, case.at)))
    pickup = replace(answered(before, sender, "no"), staff_id="", words="")
    pickup, effects = find(case, pickup)
    told = any(isinstance(e, TellHunter) for e in effects)
    news = () if told else case.news("given_back", sender)
    return pickup, (*case.text(sender, NO_NOTED[pickup.state], pickup), *news, *effects)


def find(case: Case, pickup: Pickup) -> Outcome:
    """Offer it to the next nearest; with nobody left, wait for one or ask the coordinator."""
    rules = case.programme.head.pickup
    if len(pickup.offers) >= rules.offers_before_coordinator:
        return give_up(case, pickup, "nobody_took_it")
    wants = Wants(pickup.species, pickup.whole_carcase)
    question = (case.at, case.roster, case.programme, pickup.asked, wants)
    rows = _asked_next(case, soonest(pickup.lat, pickup.lon, *question), len(pickup.offers))
    if rows:
        return _offer(case, pickup, rows)
    ranked = tuple(in_reach(pickup.lat, pickup.lon, *question))
    begins = _first_duty(case, [row for row in ranked if row.why_not == "off_duty"])
    if begins is not None:
        return _wait_for_duty(case, pickup, begins)
    return give_up(case, pickup, "nobody_took_it" if pickup.offers else _why_nobody(ranked))


def _why_nobody(ranked: tuple[Ranked, ...]) -> str:
    """Why there was nobody to ask at all: the reason nearest to somebody who might be."""
    why = {row.why_not for row in ranked}
    if "off_duty" in why:
        return "nobody_on_duty"
    return "nobody_free" if why & {"full", "cannot_fetch"} else "nobody_in_reach"


def give_up(case: Case, pickup: Pickup, reason: str) -> Outcome:
    """A person must find somebody; the hunter is told that."""
    pickup = at_rest(replace(pickup, state="with_coordinator", staff_id="", words=""))
    pickup, ask = asking(pickup, reason)
    return pickup, (*ask, *case.news("with_coordinator"))


def offer_minutes(at: datetime, programme: Programme) -> int:
    """How long an offer stands that is made now: by day or by night, on the local clock."""
    rules, patience = programme.head.pickup, programme.head.patience
    hour = at.astimezone(programme.zone).hour
    if rules.night_from > rules.night_to:
        night = hour >= rules.night_from or hour < rules.night_to
    else:
        night = rules.night_from <= hour < rules.night_to
    return patience.offer_night if night else patience.offer_day


def _asked_next(case: Case, free: Iterator[Ranked], before: int) -> tuple[Ranked, ...]:
    """Who is asked now: the first, and where both are on call and the programme says so, one
    more at the same time."""
    rules, zone = case.programme.head.pickup, case.programme.zone
    first = next(free, None)
    if first is None:
        return ()
    spare = before + 2 <= rules.offers_before_coordinator
    if not (rules.two_on_call and spare and is_on_call(first.member, case.at, zone)):
        return (first,)
    second = next((row for row in free if is_on_call(row.member, case.at, zone)), None)
    return (first, second) if second else (first,)


def _offer(case: Case, pickup: Pickup, rows: tuple[Ranked, ...]) -> Outcome:
    until = case.at + timedelta(minutes=offer_minutes(case.at, case.programme))
    offers = [
        Offer(row.member.id, case.at, until, km=row.km, minutes=row.minutes, by=row.by)
        for row in rows
    ]
    pickup = replace(pickup, state="offered", offers=(*pickup.offers, *offers))
    pickup, settled = settling(pickup, ("nobody_on_duty",))
    pickup, wait = waiting(pickup, until)
    texts: Effects = ()
    for offer in offers:
        texts += case.text(offer.staff_id, "offer", pickup, **offer_values(offer, case.programme))
    return pickup, (*settled, *texts, *wait)


def _first_duty(case: Case, rows: Iterable[Ranked]) -> datetime | None:
    """When the first of these comes on duty, if that is near enough to wait for."""
    limit = case.at + timedelta(minutes=case.programme.head.patience.duty)
    starts = (next_duty(row.member, case.at, case.programme.zone) for row in rows)
    return min((s for s in starts if s is not None and case.at < s <= limit), default=None)


def _wait_for_duty(case: Case, pickup: Pickup, due: datetime) -> Outcome:
    news: Effects = ()
    if case.pickup.state != "waiting" or case.pickup.due is None:
        news = case.news("waiting", words=clock(due, case.programme))
    pickup, wait = waiting(replace(pickup, state="waiting"), due)
    pickup, ask = asking(pickup, "nobody_on_duty")
    return pickup, (*ask, *news, *wait)
