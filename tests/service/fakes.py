"""Machines of a few lines that do what a text's first word says, and gateways that remember."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from msgspec.structs import replace
from sqlalchemy import Connection, select

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.replies import Ask, JobView, NothingOpen, NotStaff, OfferView, PassOn, StaffReply
from bot.fieldwork.state import Offer, Pickup
from bot.gateways.protocol import NotSent, Sent
from bot.messages import (
    Address,
    AskCoordinator,
    CallOff,
    FieldReply,
    Heard,
    KeepFind,
    OfferLapsed,
    OpenPickup,
    OptIn,
    OptOut,
    PickupNews,
    SendText,
    SettleReview,
    Silence,
    TellHunter,
    Text,
    Unreached,
    WaitFor,
)
from bot.programme import Programme
from bot.reading.values import Reading
from bot.service.codes import seeded
from bot.service.database import Database
from bot.service.intake import Intake
from bot.service.unfold import Rules
from bot.talk.route import Facts, Route, route
from bot.talk.state import Answer, Asked, Conversation, PickupView, Said

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HUNTER, MATE, NELL, TOM = "+61491570006", "+61491570110", "+61491570156", "+61491570157"
HOUR = timedelta(hours=1)


def heard(body: str, id: str = "1", sender: str = HUNTER, at: datetime = NOON) -> Heard:
    return Heard(id, "paddock", sender, body, at)


def step(talk: Conversation, event):
    """The first word of a text is an order; every text is kept in `held`."""
    if isinstance(event, Silence):
        if event.mark != talk.silence_mark or talk.reminders:
            return talk, ()
        return replace(talk, turn=talk.turn + 1, reminders=1), (SendText("well?", "reminder"),)
    talk = replace(talk, turn=talk.turn + 1)
    if isinstance(event, PickupNews):
        view = PickupView(event.state, event.staff_name)
        return replace(talk, pickup=view), (SendText(f"news {event.state}", "news"),)
    if not isinstance(event, Text):
        return talk, (SendText(type(event).__name__, "person"),)
    talk = replace(talk, held=(*talk.held, event.body), greeted=True)
    word, _, rest = event.body.partition(" ")
    return ORDERS.get(word, _note)(talk, event, rest)


def _note(talk, event, rest):
    return talk, (SendText(f"noted {event.body}", "notice"),)


def _ask(talk, event, rest):
    talk = replace(talk, asked=Asked(rest, event.at), silence_mark=talk.turn)
    wait = WaitFor(event.at + HOUR, talk.turn)
    return talk, (SendText("advice", "advice"), SendText(f"{rest}?", "question", None, rest), wait)


def _answer(talk, event, rest):
    asked = talk.asked.question if talk.asked else "seen"
    answers = {**talk.answers, asked: Answer(asked, Said((), rest), rest, event.sent_at)}
    return replace(talk, asked=None, answers=answers), (SendText("thanks", "notice"),)


def _pickup(talk, event, rest):
    order = OpenPickup(-36.8, 147.1, 50.0, "the hut", "a boar")
    return replace(talk, pickup=PickupView("waiting")), (order, KeepFind("suspect"))


def _boom(talk, event, rest):
    raise ValueError(f"cannot stand {event.body}")


ORDERS = {
    "ask": _ask,
    "answer": _answer,
    "pickup": _pickup,
    "boom": _boom,
    "forget": lambda talk, event, rest: (replace(talk, answers={}), ()),
    "review": lambda talk, event, rest: (talk, (AskCoordinator("odd", rest, rest == "now"),)),
    "settle": lambda talk, event, rest: (talk, (SettleReview(),)),
    "cancel": lambda talk, event, rest: (talk, (CallOff("hunter"),)),
    "stop": lambda talk, event, rest: (
        replace(talk, opted_out=True, asked=None),
        (SendText("stopped", "notice"), OptOut()),
    ),
    "start": lambda talk, event, rest: (talk, (SendText("started", "notice"), OptIn())),
    "danger": lambda talk, event, rest: (
        talk,
        (SendText("keep off", "advice"), SendText("which?", "question", None, "seen")),
    ),
}


def move(pickup: Pickup, event, roster: Roster):
    """Offered to the first of the roster; a yes takes it; a lapse goes to the coordinator."""
    first = roster.field_staff[0]
    if isinstance(event, FieldReply):
        if event.staff_id != first.id or pickup.state != "offered":
            return replace(pickup, refused="not_offered"), (
                SendText("not yours", "news", Address("", roster.by_id[event.staff_id].number)),
            )
        news = TellHunter(PickupNews(event.at, "taken", first.name, first.number))
        return replace(pickup, state="taken", staff_id=first.id, offers=()), (news,)
    if isinstance(event, OfferLapsed):
        if event.mark != pickup.mark:
            return replace(pickup, refused="stale"), ()
        return replace(pickup, state="with_coordinator", offers=()), (AskCoordinator("nobody"),)
    if isinstance(event, Unreached):
        return replace(pickup, state="waiting", offers=()), ()
    if type(event).__name__ == "Opened":
        offer = Offer(first.id, event.at, event.at + HOUR)
        texts = (SendText(f"fetch {pickup.code}?", "offer", Address("", first.number)),)
        pickup = replace(pickup, state="offered", offers=(offer,), mark=1)
        return pickup, (*texts, WaitFor(event.at + HOUR, 1))
    return replace(pickup, state="called_off"), (SendText("off", "news", Address("", TOM)),)


class Ear:
    """YES and NO are answers to the one offer, WHAT is asked back about, the rest is a hunter's."""

    def read(self, body, offers: tuple[OfferView, ...], jobs: tuple[JobView, ...], misses: int):
        codes = tuple(o.code for o in offers) + tuple(j.code for j in jobs)
        if not codes:
            return NothingOpen(body) if body.lower() in ("yes", "no") else NotStaff(body)
        if body.lower() in ("yes", "no"):
            return StaffReply(codes[0], body.lower())
        if body.startswith("what"):
            return (PassOn if misses else Ask)(*(() if misses else ("unsure",)), codes, body)
        return NotStaff(body)

    def ask(self, ask: Ask | PassOn | NothingOpen) -> str:
        if isinstance(ask, NothingOpen):
            return "nothing open"
        return "passed on" if isinstance(ask, PassOn) else f"pardon {ask.why}"

    def round_asked(self, body: str):
        return "alone" if body == "my round" else ""

    def round(self, member, pickups, link: str) -> str:
        return f"round of {len(pickups)} {link}".strip()


def choose(facts: Facts, body: str, sent_at: datetime, understood: bool) -> Route:
    return route(facts, body, Reading(body), understood)


RULES = Rules(choose, Ear(), step, move, "dialog-1", "programme-1")


def new_intake(database: Database, programme: Programme, seed: int = 7, **rules) -> Intake:
    changed = {f: rules.get(f, getattr(RULES, f)) for f in Rules.__slots__}
    return Intake(database, Rules(**changed), programme, seeded(seed))


@dataclass
class FakeGateway:
    """Keeps what it was given; `refuse` is asked first and may raise."""

    sent: list[tuple[str, str]] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    refuse: Callable[[str], None] = lambda body: None

    def send(self, address: Address, body: str, key: str) -> Sent:
        self.refuse(body)
        self.sent.append((address.number, body))
        self.keys.append(key)
        return Sent(f"carrier-{key}")


def refusing(reason: str, retry: bool) -> Callable[[str], None]:
    def refuse(body: str) -> None:
        raise NotSent(reason, retry)

    return refuse


def column(database: Database, of, *where, order=None) -> list:
    with database.read() as connection:
        return list(connection.scalars(select(of).where(*where).order_by(order or of)))


def rows(database: Database, *columns) -> list[tuple]:
    def read(connection: Connection) -> list[tuple]:
        return [tuple(row) for row in connection.execute(select(*columns).order_by(columns[0]))]

    with database.read() as connection:
        return read(connection)
