"""A season played through the pickups' own machine, with a queue of events in place of a clock.

Nothing here decides who is asked: that is `bot.fieldwork`. Staff answer as drawn, drive to one job
after the other from their base and back, and hand in when they are home.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from bot.fieldwork.dispatch import Roster, next_duty, rank
from bot.fieldwork.pickups import move, pickup_of
from bot.fieldwork.staff_dialog import StaffDialog
from bot.fieldwork.state import Offer, Pickup
from bot.messages import (
    FieldReply,
    OfferLapsed,
    Opened,
    OpenPickup,
    PickupEvent,
    SendText,
    TellHunter,
    WaitFor,
)
from bot.programme import Member, Programme
from bot.rehearsal.season import FindDrawn, Habits, reaction
from bot.talk.segments import segments_of


@dataclass(slots=True)
class Played:
    """What became of one find. `ways` are the minutes from each base that is in reach."""

    find: FindDrawn
    pickup: Pickup
    ways: dict[str, float]
    taken_at: datetime | None = None
    taken_by: str = ""
    collected_at: datetime | None = None
    given_up: str = ""
    """Why it went to the coordinator, "" if it did not."""
    texts: int = 0
    segments: int = 0
    news: int = 0


@dataclass(slots=True)
class Rehearsal:
    """One season on its way. `loads` counts the jobs that each took on by local day, `asked` the
    offers that each has open: both are his load, as they are in the service."""

    programme: Programme
    dialog: StaffDialog
    people: tuple[Member, ...]
    habits: Habits
    seed: int
    queue: list[tuple[datetime, int, int, PickupEvent]] = field(default_factory=list)
    loads: Counter[tuple[date, str]] = field(default_factory=Counter)
    asked: Counter[str] = field(default_factory=Counter)
    free_at: dict[str, datetime] = field(default_factory=dict)
    played: list[Played] = field(default_factory=list)
    pushed: int = 0

    def run(
        self, finds: Iterable[FindDrawn], watch: Callable[[int], None] = lambda done: None
    ) -> list[Played]:
        """Play every event until none is left; `watch` hears how many finds were opened."""
        for find in finds:
            order = OpenPickup(find.lat, find.lon, 50.0, "the marked place")
            pickup = pickup_of(f"R{find.number:05}", order)
            self.played.append(Played(find, pickup, self._ways(find)))
            self._push(find.at, find.number, Opened(find.at))
        opened = 0
        while self.queue:
            _, _, number, event = heapq.heappop(self.queue)
            opened += isinstance(event, Opened)
            if isinstance(event, Opened):
                watch(opened)
            self._play(self.played[number], event)
        return self.played

    def _ways(self, find: FindDrawn) -> dict[str, float]:
        rows = rank(find.lat, find.lon, find.at, Roster(self.people), self.programme)
        return {r.member.id: r.minutes for r in rows if r.why_not != "out_of_reach"}

    def _push(self, at: datetime, number: int, event: PickupEvent) -> None:
        self.pushed += 1
        heapq.heappush(self.queue, (at, self.pushed, number, event))

    def _day(self, at: datetime) -> date:
        return at.astimezone(self.programme.zone).date()

    def _roster(self, at: datetime) -> Roster:
        day = self._day(at)
        loads = {m.id: self.loads[day, m.id] + self.asked[m.id] for m in self.people}
        return Roster(self.people, loads)

    def _play(self, played: Played, event: PickupEvent) -> None:
        before = played.pickup
        after, effects = move(before, event, self._roster(event.at), self.programme, self.dialog)
        played.pickup = after
        self.asked.subtract(o.staff_id for o in before.open_offers)
        self.asked.update(o.staff_id for o in after.open_offers)
        for effect in effects:
            if isinstance(effect, SendText):
                played.texts += 1
                played.segments += segments_of(effect.body)
            elif isinstance(effect, TellHunter):
                played.news += 1
            elif isinstance(effect, WaitFor):
                self._push(effect.due, played.find.number, OfferLapsed(effect.due, effect.mark))
        for offer in _new_offers(before, after):
            self._answer(played, offer)
        if after.state == "taken" and before.state != "taken":
            self._drive(played, event.at)
        played.collected_at = (
            event.at if after.state == "collected" != before.state else played.collected_at
        )
        if after.state == "with_coordinator" and not played.given_up:
            played.given_up = after.reviews[-1]

    def _answer(self, played: Played, offer: Offer) -> None:
        drawn = reaction(self.seed, played.find.number, offer.staff_id, self.habits)
        at = offer.at + drawn.after
        if drawn.answer and at < offer.until:
            self._push(at, played.find.number, FieldReply(at, offer.staff_id, drawn.answer))

    def _drive(self, played: Played, at: datetime) -> None:
        """He sets out once he is home from the job before and on duty."""
        who, number = played.pickup.staff_id, played.find.number
        played.taken_at, played.taken_by = at, who
        self.loads[self._day(at), who] += 1
        member = next(m for m in self.people if m.id == who)
        ready = max(at, self.free_at.get(who, at))
        start = next_duty(member, ready, self.programme.zone) or ready
        way = timedelta(minutes=played.ways[who])
        there = start + way + timedelta(minutes=self.habits.at_the_place)
        self.free_at[who] = there + way
        self._push(there, number, FieldReply(there, who, "collected"))
        self._push(there + way, number, FieldReply(there + way, who, "handed_in"))


def _new_offers(before: Pickup, after: Pickup) -> Iterator[Offer]:
    known = len(before.offers)
    return (offer for offer in after.offers[known:] if not offer.answer)
