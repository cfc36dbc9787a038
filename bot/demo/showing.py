"""What the demo prints while it plays: who, what, what it cost; then pickups, then the list.

Colours only where somebody looks at a terminal.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TextIO

from bot.demo.facts import pickup_words
from bot.demo.stage import Stage
from bot.demo.transcript import Line, Transcript, clock
from bot.fieldwork.dispatch import WGS84
from bot.fieldwork.state import Pickup
from bot.service.desk_rows import Card, Waiting
from bot.talk.segments import segments_of
from bot.web.words import DeskWords

WIDTH = 96
_DIM, _BOLD, _GREEN, _CYAN, _OFF = "\x1b[2m", "\x1b[1m", "\x1b[32m", "\x1b[36m", "\x1b[0m"


@dataclass(slots=True)
class Screen:
    """Where the demo is shown."""

    out: TextIO

    def say(self, words: str = "", style: str = "") -> None:
        """One line, at once."""
        coloured = style and self.out.isatty()
        print(f"{style}{words}{_OFF}" if coloured else words, file=self.out, flush=True)

    def begin(self, number: int, count: int, talk: Transcript) -> None:
        """A talk's heading."""
        self.say()
        self.say(f"[{number}/{count}] {talk.title}", _BOLD)
        self.say(f"{talk.shows}", _DIM)
        starts = talk.starts
        self.say(f"{starts:%a} {starts.day} {starts:%b %Y}, {starts:%H:%M}", _DIM)

    def line(self, line: Line) -> None:
        """One line of a talk, the bot's with its price."""
        if line.by_bot:
            count = segments_of(line.body)
            who = f"bot to {line.to}" if line.to else "bot"
            self._say(line, who, f"{line.body} [{count} segment{'s' * (count != 1)}]", _GREEN)
        elif line.act == "texts":
            late = f" (sent {clock(line.sent)})" if line.sent is not None else ""
            words = "(the same text again)" if line.again else line.body
            self._say(line, f"{line.who}{late}", f"{words}{' [photo]' if line.photo else ''}", "")
        elif line.act == "waits":
            self._say(line, "", "(nobody writes)", _DIM)
        else:
            words = f"{line.act} {line.arg}".strip()
            self._say(line, line.who, f"({words}) {line.body}".strip(), _CYAN)

    def _say(self, line: Line, who: str, words: str, style: str) -> None:
        head = f"{clock(line.at):>9} {who}: " if who else f"{clock(line.at):>9} "
        rows = textwrap.wrap(words, WIDTH - 12, break_on_hyphens=False) or [""]
        self.say(head + rows[0], style)
        for row in rows[1:]:
            self.say(f"{'':>12}{row}", style)

    def end(self, cards: Iterable[Card], stage: Stage) -> None:
        """What came of a talk."""
        for card in cards:
            kept = card.find_state.replace("_", " ") or "no find kept yet"
            self.say(f"{'':>9} = {card.code}: {kept}; pickup: {way(card.pickup, stage)}", _BOLD)

    def pickups(self, cards: Iterable[Card], stage: Stage) -> None:
        """Every pickup, with how far it was and who took it."""
        self.say()
        self.say("Pickups", _BOLD)
        for card in cards:
            if card.pickup:
                place = card.pickup.place_words
                self.say(f"  {card.code}  {way(card.pickup, stage):<44} {place}")

    def reviews(self, waiting: Iterable[Waiting], words: DeskWords, now: datetime) -> None:
        """What waits for the coordinator, most urgent first."""
        self.say()
        self.say("Waiting for the coordinator, most urgent first", _BOLD)
        rows = tuple(waiting)
        for row in rows:
            at_once = "AT ONCE " if row.at_once else ""
            reasons = "; ".join(words.of("reason", reason) for reason in row.reasons)
            self.say(f"  {row.code}  {at_once}{reasons}")
        if not rows:
            self.say("  nothing")


def way(pickup: Pickup | None, stage: Stage) -> str:
    """ "handed in by Nell Abbery, 12.3 km"; how a pickup stands where nobody has it."""
    if pickup is None:
        return "none"
    words = pickup_words(pickup)
    holder = pickup.staff_id or (pickup.open_offer.staff_id if pickup.open_offer else "")
    member = next((m for m in stage.programme.roster if m.id == holder), None)
    if member is None:
        return words
    km = WGS84.inv(member.lon, member.lat, pickup.lon, pickup.lat)[2] / 1000
    return f"{words.removesuffix(member.id)}{member.name}, {km:.1f} km"


def on_screen() -> Screen:
    """The standard output."""
    return Screen(sys.stdout)
