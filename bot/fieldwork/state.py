"""Where one pickup stands, as a frozen value that is stored whole.

The stored shape only grows: every new field has a default, and none is renamed or removed.
Tests hold a frozen example of every version that was ever stored.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec
from msgspec import Struct

from bot.messages import OpenPickup, Stage

VERSION = 1

State = Literal[
    "waiting",
    "offered",
    "taken",
    "collected",
    "handed_in",
    "called_off",
    "with_coordinator",
]

LIVE: frozenset[State] = frozenset({"waiting", "offered", "taken", "collected", "with_coordinator"})
"""The states in which somebody still has to do something."""


class Offer(Struct, frozen=True):
    """One offer to one member of staff, with what became of it; answer "" is still open."""

    staff_id: str
    at: datetime
    until: datetime
    answer: Literal[
        "",
        "yes",
        "no",
        "lapsed",
        "withdrawn",
        "unreached",
        "not_there",
        "nobody_home",
        "no_access",
        "wrong_head",
    ] = ""
    km: float = 0.0
    minutes: float = 0.0
    by: Literal["geodesic", "network"] = "geodesic"
    """What the minutes were reckoned by."""


class Pickup(Struct, frozen=True):
    """The job of fetching one head. Degrees are WGS84, accuracy is metres.

    `staff_id` holds it (taken, collected, handed in). A wait that was set carries `mark`, and
    `due` says when it ends; a wake with another mark is stale. `reviews` are the reasons for
    which the coordinator was asked and that nothing has settled since. `refused` names why the
    last event changed nothing, "" when it did.
    """

    code: str
    lat: float
    lon: float
    accuracy_m: float
    place_words: str
    details: str = ""
    contact: str = ""
    version: int = VERSION
    state: State = "waiting"
    offers: tuple[Offer, ...] = ()
    staff_id: str = ""
    words: str = ""
    """The time that the holder gave, in the holder's own words."""
    mark: int = 0
    due: datetime | None = None
    reviews: tuple[str, ...] = ()
    refused: str = ""
    opened_at: datetime | None = None
    species: str = ""
    whole_carcase: bool = False
    visit: bool = False
    """Whether it is to be looked at where it lies, as a person has decided."""
    stages: tuple[Stage, ...] = ()
    """How warm the head was kept, as far as it was said."""
    best_by: datetime | None = None
    """When it should be at the laboratory, by the programme's spoiling clock."""
    access: str = ""
    """Gate, dogs, a good time: the hunter's own words for whoever comes."""
    in_vain: int = 0
    """How often its holder came and met nobody, or could not get in."""

    @property
    def open_offers(self) -> tuple[Offer, ...]:
        """The offers that nobody has answered yet: one, or two to people on call at once."""
        return tuple(o for o in self.offers if not o.answer)

    @property
    def open_offer(self) -> Offer | None:
        """The first of the open offers."""
        return next(iter(self.open_offers), None)

    @property
    def with_whom(self) -> tuple[str, ...]:
        """The one person who has it, or whoever is being asked."""
        return (self.staff_id,) if self.staff_id else tuple(o.staff_id for o in self.open_offers)

    @property
    def asked(self) -> frozenset[str]:
        """Who has been offered it at any time."""
        return frozenset(o.staff_id for o in self.offers)


class PickupStateError(ValueError):
    """A stored pickup that this version cannot read."""


def pickup_of(code: str, order: OpenPickup) -> Pickup:
    """The pickup that a conversation's order asks for; `Opened` sets it moving."""
    return Pickup(
        code=code,
        lat=order.lat,
        lon=order.lon,
        accuracy_m=order.accuracy_m,
        place_words=order.place_words,
        details=order.details,
        contact=order.contact,
        species=order.species,
        whole_carcase=order.whole_carcase,
        stages=order.stages,
        visit=order.visit,
        access=order.access,
    )


def dump(pickup: Pickup) -> bytes:
    """The pickup as JSON, fit for storing."""
    return msgspec.json.encode(pickup)


def load(stored: bytes | str) -> Pickup:
    """A stored pickup of any version; PickupStateError if it is none."""
    try:
        pickup = msgspec.json.decode(stored, type=Pickup)
    except msgspec.DecodeError as fault:
        raise PickupStateError(f"stored pickup: {fault}") from fault
    if pickup.version > VERSION:
        raise PickupStateError(f"stored pickup: version {pickup.version} is newer than {VERSION}")
    return msgspec.structs.replace(pickup, version=VERSION)
