"""What happens to a conversation: a text, a silence, news of its pickup, a coordinator."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct

from bot.messages.desk_events import (
    AuthorityTold,
    Brought,
    Closed,
    Correction,
    Entered,
    HandedBack,
    JawNews,
    Joined,
    PersonWrote,
    Result,
    ResultApproved,
    SendNow,
    SplitOff,
    TakenOver,
)
from bot.messages.values import Photo, Pin


class Text(Struct, frozen=True, tag="text"):
    """A text from a hunter. `sent_at` gives its meaning, `at` (arrival) runs the timers."""

    body: str
    sent_at: datetime
    at: datetime
    pin: Pin | None = None
    photos: tuple[Photo, ...] = ()
    channel: Literal["sms", "chat", ""] = ""
    """How it came, where that is another way than the conversation's texts came until now."""


class NumberProved(Struct, frozen=True, tag="number_proved"):
    """The hunter of a chat has given back the code that was sent to his number (E.164)."""

    at: datetime
    number: str


class Silence(Struct, frozen=True, tag="silence"):
    """Time passed without an answer. `mark` is the point at which the wait was set; a wait
    that the conversation has left behind does nothing."""

    at: datetime
    mark: int


class PickupNews(Struct, frozen=True, tag="pickup_news"):
    """What the pickup machine tells the hunter's conversation."""

    at: datetime
    state: str
    staff_name: str = ""
    staff_number: str = ""
    words: str = ""


Event = (
    Text
    | NumberProved
    | Silence
    | Correction
    | TakenOver
    | HandedBack
    | PersonWrote
    | Closed
    | PickupNews
    | SendNow
    | Result
    | AuthorityTold
    | ResultApproved
    | JawNews
    | Entered
    | Joined
    | SplitOff
    | Brought
)
