"""The pure rooms' functions bound to what is in force: this is all that Intake knows of them."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.evidence.ageing import load_teeth
from bot.fieldwork.asking_round import Asked, round_asked
from bot.fieldwork.custody import CustodyEvent, State
from bot.fieldwork.handovers import HandInPlaces, Stored, custody_of, hand_in_places
from bot.fieldwork.pickups import move
from bot.fieldwork.replies import (
    Ask,
    JobView,
    NothingOpen,
    OfferView,
    PassOn,
    StaffReading,
    ask_text,
    read_reply,
)
from bot.fieldwork.round_text import round_text
from bot.fieldwork.staff_day import staff_day
from bot.fieldwork.staff_dialog import StaffDialog, load_staff_dialog
from bot.fieldwork.state import Pickup
from bot.messages import PickupEvent
from bot.programme import Member, Programme
from bot.reading.values import Reading
from bot.scenes import read_text
from bot.service.age_texts import AgeTexts
from bot.service.beginning import keep_contents
from bot.service.codes import Draw, draw
from bot.service.database import Database
from bot.service.intake import Intake
from bot.service.links import NO_LINKS, Links
from bot.service.unfold import Choose, Rules, TellCustody
from bot.talk.conversation import step
from bot.talk.describing import card_words
from bot.talk.dialog import Dialog
from bot.talk.route import Facts, Route, route
from bot.talk.state import Conversation, Said


@dataclass(frozen=True, slots=True)
class Ear:
    """The reader of staff texts with its words and its programme."""

    dialog: StaffDialog
    programme: Programme

    def read(
        self, body: str, offers: tuple[OfferView, ...], jobs: tuple[JobView, ...], misses: int
    ) -> StaffReading:
        """What a text of somebody with offers or jobs says."""
        return read_reply(body, offers, jobs, self.dialog.words, misses)

    def ask(self, ask: Ask | PassOn | NothingOpen) -> str:
        """The text that asks back."""
        return ask_text(ask, self.dialog, self.programme)

    def round_asked(self, body: str) -> Asked:
        """Whether a text asks for the round of the day."""
        return round_asked(body, self.dialog.words)

    def round(self, member: Member, pickups: Sequence[Pickup], link: str) -> str:
        """The text that tells somebody with these pickups his round, with its page's address."""
        day = staff_day(member, pickups, self.programme)
        codes = [pickup.code for pickup in day.on_board]
        return round_text(day.plan, self.dialog, self.programme, codes, link)


def rules_of(dialog: Dialog, programme: Programme) -> Rules:
    """The machines with a dialog and a programme bound into them."""
    staff = load_staff_dialog(dialog.files)
    return Rules(
        choose=_choose(dialog, programme),
        staff=Ear(staff, programme),
        step=lambda conversation, event: step(conversation, event, dialog, programme),
        move=lambda pickup, event, roster: move(pickup, event, roster, programme, staff),
        dialog_hash=dialog.hash,
        programme_hash=programme.hash,
        custody=_custody(dialog, programme),
        describe=lambda talk: card_words(talk, dialog, programme),
        ages=_ages(dialog, programme),
    )


def _ages(dialog: Dialog, programme: Programme) -> AgeTexts | None:
    """None for a dialog without tables of teeth."""
    text = dialog.files.get("teeth.toml")
    return AgeTexts(load_teeth(text), programme.head.evidence.teeth_region) if text else None


def open_intake(
    database: Database,
    dialog: Dialog,
    programme: Programme,
    draw: Draw = draw,
    links: Links = NO_LINKS,
) -> Intake:
    """The door for everything that happens, with the files in force kept under their hashes."""
    keep_contents(database, {dialog.hash: dialog.files, programme.hash: programme.files})
    return Intake(database, rules_of(dialog, programme), programme, draw, links)


def places_of(dialog: Dialog, programme: Programme) -> HandInPlaces:
    """Where heads may be handed in: landmarks of the kind depot, and words for the laboratory."""
    depots = [(m.name, m.also) for m in programme.landmarks if m.kind == "depot"]
    words = tomllib.loads(dialog.files.get("custody.toml", "")).get("listen", {})
    lab = (*words.get("laboratory", ()), *filter(None, [programme.head.laboratory.name]))
    return hand_in_places(depots, lab, visits=not programme.head.law.head_may_move)


def stored_of(talk: Conversation) -> Stored:
    """How the hunter said that he keeps the head, the coldest of what he said."""
    answer = talk.answers.get("storage")
    if answer is None or not isinstance(answer.value, Said):
        return Stored()
    states: tuple[State, ...] = ("frozen", "chilled", "warm")
    none: State = ""
    state = next((s for s in states if s in answer.value.keys), none)
    return Stored(state, answer.at if state in ("frozen", "chilled") else None)


def _custody(dialog: Dialog, programme: Programme) -> TellCustody:
    places = places_of(dialog, programme)

    def custody(
        before: Pickup, event: PickupEvent, after: Pickup, talk: Conversation
    ) -> tuple[CustodyEvent, ...]:
        return custody_of(before, event, after, stored_of(talk), places)

    return custody


def _choose(dialog: Dialog, programme: Programme) -> Choose:
    def choose(facts: Facts, body: str, sent_at: datetime, understood: bool) -> Route:
        # Where there is nothing to choose between, a text need not be read for it.
        if not (facts.talks or facts.offers or facts.jobs):
            return route(facts, body, Reading(body), understood)
        asked = next((t.asked for t in reversed(facts.talks) if t.asked), "")
        reading = read_text(programme, dialog.words, body, sent_at, asked)
        return route(facts, body, reading, understood)

    return choose
