"""What a coordinator does to a conversation. Each event names him in `by`."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct

from bot.messages.values import Pin


class Correction(Struct, frozen=True, tag="correction"):
    """A coordinator sets one answer, in plain words that the same readers read."""

    at: datetime
    by: str
    question: str
    words: str
    pin: Pin | None = None
    choice: int = 0
    """The number, from 1, of one of the readings that the hunter was offered."""


class TakenOver(Struct, frozen=True, tag="taken_over"):
    """A coordinator writes from now on; the bot keeps reading, and says nothing but safety."""

    at: datetime
    by: str


class HandedBack(Struct, frozen=True, tag="handed_back"):
    """The coordinator lets the bot go on."""

    at: datetime
    by: str


class PersonWrote(Struct, frozen=True, tag="person_wrote"):
    """A coordinator's own words to the hunter."""

    at: datetime
    by: str
    body: str


class Closed(Struct, frozen=True, tag="closed"):
    """A coordinator ends the conversation: finished, no find, or called off."""

    at: datetime
    by: str
    reason: Literal["finished", "no_find", "called_off"] = "finished"
    note: str = ""


class SendNow(Struct, frozen=True, tag="send_now"):
    """A coordinator releases the visit or pickup that the bot would not open by itself."""

    at: datetime
    by: str


class Result(Struct, frozen=True, tag="result"):
    """What the laboratory finally says of the find; said again otherwise, it is amended."""

    at: datetime
    by: str
    outcome: Literal["positive", "negative", "not_testable"]


class AuthorityTold(Struct, frozen=True, tag="authority_told"):
    """A coordinator has told the authority of a positive, which comes before anybody else."""

    at: datetime
    by: str


class ResultApproved(Struct, frozen=True, tag="result_approved"):
    """A coordinator lets the hunter hear the result as it stands."""

    at: datetime
    by: str


class JawNews(Struct, frozen=True, tag="jaw_news"):
    """What was decided on the jaw that the hunter wanted back."""

    at: datetime
    by: str
    how: Literal["kept", "handed_back", "sent"]
    words: str = ""


class Entered(Struct, frozen=True, tag="entered"):
    """A coordinator has typed what he was told. Without `texts` he says himself what is said."""

    at: datetime
    by: str
    how: Literal["telephone", "counter", "crate"]
    texts: bool = False


class Joined(Struct, frozen=True, tag="joined"):
    """This conversation is about the animal of another, and ends into it."""

    at: datetime
    by: str
    into: str


class SplitOff(Struct, frozen=True, tag="split_off"):
    """A second animal of this conversation has a find of its own now, under `code`."""

    at: datetime
    by: str
    code: str


class Brought(Struct, frozen=True, tag="brought"):
    """Answers from the conversation `code`, joined to this one or split into it. `words` are a
    coordinator's on what a split one has of its own."""

    at: datetime
    by: str
    code: str
    why: Literal["joined", "split"]
    answers: dict[str, str] = {}
    """By question, each as a conversation stores it, in JSON."""
    words: str = ""
