"""One transcript played on a stage: people do what it says, and what the bot says is written down.

How a text is brought in is the caller's: straight into the service, or signed over HTTP.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import cast
from urllib.parse import quote

from msgspec.structs import replace

from bot.demo.stage import Stage
from bot.demo.transcript import Line, Transcript
from bot.fieldwork.custody import (
    CustodyEvent,
    JawReleased,
    LabSaid,
    Outcome,
    Release,
    Status,
)
from bot.fieldwork.laboratory import OUTCOMES, STATUSES
from bot.gateways.paper import Note
from bot.messages import (
    Assigned,
    AuthorityTold,
    Closed,
    Correction,
    Event,
    HandedBack,
    Heard,
    PersonWrote,
    Photo,
    ResultApproved,
    SendNow,
    TakenOver,
)
from bot.programme import Member, e164

Bring = Callable[[Heard, Line], None]
"""Brings one text in; the line says what picture came with it."""

See = Callable[[Line], None]


class PlayError(ValueError):
    """The transcript asks for somebody or something that is not there."""


def straight_into(stage: Stage) -> Bring:
    """Texts handed to the service within this process, a picture by what its EXIF would say."""

    def bring(heard: Heard, line: Line) -> None:
        if line.photo:
            taken = line.photo.taken
            at = None if taken is None else stage.clock() - line.at + taken
            heard = replace(heard, photos=(Photo("demo", line.photo.pin, at),))
        stage.intake.hear(heard, stage.clock())

    return bring


@dataclass(slots=True)
class Play:
    """One play of one transcript. `outcome` is the transcript as it went this time."""

    transcript: Transcript
    stage: Stage
    bring: Bring
    see: See = lambda line: None
    lines: list[Line] = field(default_factory=list)
    _ids: dict[str, tuple[str, str]] = field(default_factory=dict)
    """The gateway id and the words of each person's last text."""

    @property
    def start(self) -> datetime:
        """The transcript's start, in the programme's zone."""
        return self.transcript.starts.replace(tzinfo=self.stage.programme.zone)

    def run(self) -> Transcript:
        """Play it through; the same transcript with the bot's lines as they came."""
        self.stage.codes.begin(self.transcript.title)
        for line in self.transcript.script:
            for at, notes in self.stage.run_until(self.start + line.at):
                self._write_down(at, notes)
            self._show(line)
            self._do(line)
            self._write_down(self.stage.clock(), self.stage.send_all())
        return replace(self.transcript, lines=tuple(self.lines))

    def _show(self, line: Line) -> None:
        self.lines.append(line)
        self.see(line)

    def _write_down(self, at: datetime, notes: Iterable[Note]) -> None:
        for note in notes:
            to = self._key_of(note.address.number)
            if to is not None:
                self._show(Line(at - self.start, "bot", body=note.body, to=to))

    def _do(self, line: Line) -> None:
        if line.act == "texts":
            self.bring(self._heard(line), line)
        elif line.act == "gives":
            event = Assigned(self.stage.clock(), self._member(line.who).name, line.arg)
            self.stage.intake.tell_pickup(self.code(), event, self.stage.clock())
        elif line.act in ("enters", "returns"):
            self.stage.intake.tell_custody([self._custody(line)], self.stage.clock())
        elif line.act != "waits":
            self.stage.intake.tell(self.code(), self._order(line), self.stage.clock())

    def _heard(self, line: Line) -> Heard:
        number = f"{quote(self.transcript.title)}/{len(self.lines)}"
        key, body = self._ids.get(line.who, ("", "")) if line.again else (number, line.body)
        self._ids[line.who] = key, body
        return Heard(
            id=key,
            gateway=self.stage.carrier,
            sender=self.number(line.who),
            body=body,
            sent_at=self.start + (line.at if line.sent is None else line.sent),
            pin=line.pin,
        )

    def _custody(self, line: Line) -> CustodyEvent:
        """What a coordinator sets down of the head: the laboratory's word, or the jaw's way."""
        at, by, code = self.stage.clock(), self._member(line.who).name, self.code()
        if line.act == "returns":
            return JawReleased(at, by, code, cast(Release, line.arg), line.body)
        status, _, outcome = line.arg.partition(" ")
        if status not in STATUSES or outcome not in ("", *OUTCOMES):
            raise PlayError(f"the laboratory never says {line.arg}")
        return LabSaid(
            at, by, code, cast(Status, status), outcome=cast(Outcome, outcome), words=line.body
        )

    def _order(self, line: Line) -> Event:
        """What a coordinator does, as the event that the desk would tell."""
        at, by = self.stage.clock(), self._member(line.who).name
        match line.act:
            case "corrects":
                return Correction(at, by, line.arg, line.body)
            case "writes":
                return PersonWrote(at, by, line.body)
            case "takes over":
                return TakenOver(at, by)
            case "hands back":
                return HandedBack(at, by)
            case "sends":
                return SendNow(at, by)
            case "approves":
                return ResultApproved(at, by)
            case "has told":
                return AuthorityTold(at, by)
            case "closes" if line.arg in ("finished", "no_find", "called_off"):
                return Closed(at, by, line.arg, line.body)  # type: ignore[arg-type]
            case _:
                raise PlayError(f"{line.who} cannot {line.act} {line.arg}")

    # ------------------------------------------------------------------------------ who is who

    def number(self, who: str) -> str:
        """The number that somebody texts from, as the transcript or the roster writes it."""
        person = next((p for p in self.transcript.people if p.key == who), None)
        return person.number if person else self._member(who).number

    def _member(self, who: str) -> Member:
        found = next((m for m in self.stage.programme.roster if m.id == who), None)
        if found is None:
            raise PlayError(f"{who!r} stands neither in the header nor on the roster")
        return found

    def _key_of(self, number: str) -> str | None:
        """Who has a number in this talk: "" for the first person; None for nobody in it."""
        people = self.transcript.people
        for place, person in enumerate(people):
            if e164(person.number, self.stage.programme.head.country) == number:
                return person.key if place else ""
        return next((m.id for m in self.stage.programme.roster if m.number == number), None)

    def senders(self) -> tuple[str, ...]:
        """The E.164 numbers of everybody who texts in this talk."""
        raw = dict.fromkeys(self.number(line.who) for line in self.transcript.script if line.who)
        found = (e164(number, self.stage.programme.head.country) for number in raw)
        return tuple(number for number in found if number)

    def codes(self) -> tuple[str, ...]:
        """The codes of the finds that this talk has opened, oldest first."""
        return self.stage.codes_of(self.senders(), self.start)

    def code(self) -> str:
        """The code of this talk's newest find."""
        found = self.codes()
        if not found:
            raise PlayError("no find has been opened yet")
        return found[-1]
