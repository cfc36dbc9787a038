"""What a machine wants done. Effects are orders; the shell carries them out."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct

from bot.messages.talk_events import PickupNews
from bot.messages.values import Address, Stage


class SendText(Struct, frozen=True, tag="send_text"):
    """Put one text into the outbox. `to` None is the conversation's own hunter."""

    body: str
    kind: Literal["advice", "question", "news", "notice", "person", "offer", "reminder"]
    to: Address | None = None
    question: str = ""


class WaitFor(Struct, frozen=True, tag="wait_for"):
    """Wake the same machine at `due`, unless it has moved past `mark` by then."""

    due: datetime
    mark: int


class AskCoordinator(Struct, frozen=True, tag="ask_coordinator"):
    """Put the conversation on the review list. One open row per reason and conversation."""

    reason: str
    heard: str = ""
    at_once: bool = False


class SettleReview(Struct, frozen=True, tag="settle_review"):
    """Take rows off the review list; no reasons means every one."""

    reasons: tuple[str, ...] = ()


class OpenPickup(Struct, frozen=True, tag="open_pickup"):
    """Open the find's one pickup. WGS84 degrees, accuracy in metres."""

    lat: float
    lon: float
    accuracy_m: float
    place_words: str
    details: str = ""
    contact: str = ""
    species: str = ""
    whole_carcase: bool = False
    """Whether the whole carcase is to be removed, which takes a vehicle and people."""
    stages: tuple[Stage, ...] = ()
    visit: bool = False
    """Whether it is to be looked at where it lies, and nothing fetched before that."""
    access: str = ""
    """Gate, dogs, a good time: the hunter's own words for whoever comes."""


class UpdatePickup(Struct, frozen=True, tag="update_pickup"):
    """Tell the open pickup that its place or details have changed."""

    lat: float
    lon: float
    place_words: str
    details: str = ""
    stages: tuple[Stage, ...] = ()
    access: str = ""
    contact: str = ""


class CallOff(Struct, frozen=True, tag="call_off"):
    """Call the find's pickup off, if there is one."""

    reason: str


class TakeIn(Struct, frozen=True, tag="take_in"):
    """Note that the hunter has handed the head in himself. `order` is what the pickup would have
    been, for a find that has none."""

    order: OpenPickup
    heard: str
    place: str = ""


class KeepFind(Struct, frozen=True, tag="keep_find"):
    """Keep the find as evidence, with its state as it stands."""

    state: Literal["suspect", "clean", "found_dead", "no_find"]


class OptOut(Struct, frozen=True, tag="opt_out"):
    """Send this hunter nothing more."""


class OptIn(Struct, frozen=True, tag="opt_in"):
    """This hunter wants texts again."""


class TellHunter(Struct, frozen=True, tag="tell_hunter"):
    """From the pickup to the find's conversation; stored and drained in the same transaction."""

    news: PickupNews


Effect = (
    SendText
    | WaitFor
    | AskCoordinator
    | SettleReview
    | OpenPickup
    | UpdatePickup
    | CallOff
    | TakeIn
    | KeepFind
    | OptOut
    | OptIn
    | TellHunter
)
