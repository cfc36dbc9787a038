"""The vocabulary: what comes in and what goes out, as frozen values, and nothing else.

Events are nouns, effects are orders. Every time is aware and in UTC. Stored shapes only
grow: a new field has a default, and no field or tag is renamed or removed.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct


class Pin(Struct, frozen=True):
    """A position that a telephone or a gateway gave: WGS84 degrees, accuracy in metres."""

    lat: float
    lon: float
    accuracy_m: float = 50.0


class Photo(Struct, frozen=True):
    """A picture that came with a text: where the shell keeps it, and what its EXIF said."""

    key: str
    pin: Pin | None = None
    taken_at: datetime | None = None


class Picture(Struct, frozen=True):
    """A picture as it arrived: its media type and its bytes, before the shell has kept it."""

    type: str
    data: bytes


class Address(Struct, frozen=True):
    """Where texts to one person go: a gateway's name, and a number (E.164) or chat session."""

    gateway: str
    number: str


class Heard(Struct, frozen=True):
    """One text as a gateway delivered it, before anybody knows whose conversation it is in.

    `id` is the gateway's own id, the key by which a repeat is known. `sender` is as the
    gateway wrote it; the shell turns it into E.164.
    """

    id: str
    gateway: str
    sender: str
    body: str
    sent_at: datetime
    pin: Pin | None = None
    photos: tuple[Photo, ...] = ()
    pictures: tuple[Picture, ...] = ()
    """Raw pictures from a gateway; the shell keeps them and puts `photos` in their place."""


# ------------------------------------------------------------------ events of a conversation


class Text(Struct, frozen=True, tag="text"):
    """A text from a hunter. `sent_at` gives its meaning, `at` (arrival) runs the timers."""

    body: str
    sent_at: datetime
    at: datetime
    pin: Pin | None = None
    photos: tuple[Photo, ...] = ()


class Silence(Struct, frozen=True, tag="silence"):
    """Time passed without an answer. `mark` is the point at which the wait was set; a wait
    that the conversation has left behind does nothing."""

    at: datetime
    mark: int


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


class PickupNews(Struct, frozen=True, tag="pickup_news"):
    """What the pickup machine tells the hunter's conversation."""

    at: datetime
    state: str
    staff_name: str = ""
    staff_number: str = ""
    words: str = ""


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


Event = (
    Text
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


# ------------------------------------------------------------------------ events of a pickup


class Opened(Struct, frozen=True, tag="opened"):
    """The pickup exists; somebody must be found for it."""

    at: datetime


class FieldReply(Struct, frozen=True, tag="field_reply"):
    """What a member of staff answered, already read: yes, no, has it, handed it in ..."""

    at: datetime
    staff_id: str
    answer: Literal["yes", "no", "collected", "handed_in", "not_there"]
    words: str = ""
    heard: str = ""
    """The whole text, where there was one: it may name a container, or where it was handed in."""


class OfferLapsed(Struct, frozen=True, tag="offer_lapsed"):
    """The time of an offer has run out. `mark` as for Silence."""

    at: datetime
    mark: int


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


PickupEvent = Opened | FieldReply | OfferLapsed | Assigned | CalledOff | PickupChanged


# ----------------------------------------------------------------------------------- effects


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


class Stage(Struct, frozen=True):
    """How a head was kept from some time on; `air_c` is the air's temperature where it is known."""

    kept: Literal["warm", "chilled", "frozen"]
    since: datetime
    air_c: float | None = None


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


class UpdatePickup(Struct, frozen=True, tag="update_pickup"):
    """Tell the open pickup that its place or details have changed."""

    lat: float
    lon: float
    place_words: str
    details: str = ""
    stages: tuple[Stage, ...] = ()


class CallOff(Struct, frozen=True, tag="call_off"):
    """Call the find's pickup off, if there is one."""

    reason: str


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
    | KeepFind
    | OptOut
    | OptIn
    | TellHunter
)
