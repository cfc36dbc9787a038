"""What happens to a pickup: it opens, staff answer, an offer lapses, a person decides."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct

from bot.messages.values import Stage


class Opened(Struct, frozen=True, tag="opened"):
    """The pickup exists; somebody must be found for it."""

    at: datetime


class FieldReply(Struct, frozen=True, tag="field_reply"):
    """What a member of staff answered, already read: yes, no, has it, handed it in ..."""

    at: datetime
    staff_id: str
    answer: Literal[
        "yes", "no", "collected", "handed_in", "not_there", "nobody_home", "no_access", "wrong_head"
    ]
    words: str = ""
    heard: str = ""
    """The whole text, where there was one: it may name a container, or where it was handed in."""


class OfferLapsed(Struct, frozen=True, tag="offer_lapsed"):
    """The time of an offer has run out. `mark` as for Silence."""

    at: datetime
    mark: int


class Unreached(Struct, frozen=True, tag="unreached"):
    """The carrier says that the text with an offer did not arrive. `decided_at` is when that text
    was decided, so that a late word on an old offer does not end a new one."""

    at: datetime
    staff_id: str
    decided_at: datetime


class Assigned(Struct, frozen=True, tag="assigned"):
    """A coordinator gives the pickup to one member of staff by hand."""

    at: datetime
    by: str
    staff_id: str


class CalledOff(Struct, frozen=True, tag="called_off"):
    """The hunter or a coordinator says that nothing is to be fetched any more."""

    at: datetime
    by: str
    reason: str = ""


class PickupChanged(Struct, frozen=True, tag="pickup_changed"):
    """An answer that staff need has changed while the pickup stands."""

    at: datetime
    place_words: str
    lat: float
    lon: float
    details: str = ""
    stages: tuple[Stage, ...] = ()
    access: str = ""
    """Gate, dogs, a good time: the hunter's own words for whoever comes."""
    contact: str = ""
    """Another number to ring; "" leaves the one that stands."""


class BroughtIn(Struct, frozen=True, tag="brought_in"):
    """The hunter has handed the head in himself. `heard` are his words, which may name the
    depot; `place` is the depot's own name, "" where he named none."""

    at: datetime
    heard: str
    place: str = ""


PickupEvent = (
    Opened | FieldReply | OfferLapsed | Unreached | Assigned | CalledOff | PickupChanged | BroughtIn
)
