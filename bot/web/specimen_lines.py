"""A specimen in words, for its label and for the laboratory's lists."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from bot.fieldwork.custody import HUNTER, HandedOver
from bot.fieldwork.laboratory import MANIFEST
from bot.fieldwork.specimens import Specimen, Trail
from bot.reading.describe import plain_degrees
from bot.reading.values import Animal, Place, When
from bot.talk.state import Conversation, Seen, Value
from bot.talk.wording import Speaker
from bot.web.custody_words import SpecimenWords
from bot.web.labels import Label, LabelWords
from bot.web.wiring import Wiring


@dataclass(frozen=True, slots=True)
class Lines:
    """Writes specimens in the words of one wiring."""

    wiring: Wiring
    words: SpecimenWords

    def label(self, s: Specimen, trail: Trail, talk: Conversation | None, qr: str) -> Label:
        """One specimen's label; `qr` "" puts the code itself into the QR code."""
        cells = self.cells(s, trail, talk)
        laboratory = self.wiring.programme.head.laboratory
        cold = f"{self.words.of('state', s.state)}: {cells['cold_since']}" if s.cold_since else ""
        lines = {
            "find": " or ".join(s.either_of) if not s.find else "",
            "species": cells["species"],
            "place": cells["place"],
            "killed": cells["killed"],
            "cold": cold or self.words.of("state", s.state),
            "collector": cells["collected_by"],
            "laboratory": ", ".join(filter(None, (laboratory.name, laboratory.address))),
            "phone": laboratory.phone or self.wiring.programme.head.contacts.coordinator,
        }
        named = ((self.words.of("label", key), said) for key, said in lines.items())
        shown = tuple(
            pair for pair, key in zip(named, lines, strict=True) if key != "find" or pair[1]
        )
        return Label(s.code, self.words.of("part", s.part), qr or s.code, shown)

    def notes(self) -> LabelWords:
        """What stands on every label."""
        return LabelWords(self.words.of("label", "packing"), self.words.of("label", "turn_mark"))

    def cells(self, s: Specimen, trail: Trail, talk: Conversation | None) -> dict[str, str]:
        """One row of a manifest, by column; the hunter's name and number are none of it."""
        place = _value(talk, "kill_place")
        spot = place if isinstance(place, Place) else None
        cells = {
            "code": s.code,
            "part": s.part,
            "species": self._said(talk, "species", Animal),
            "killed": self._said(talk, "when", When),
            "place": self._place(talk, spot),
            "lat": f"{spot.lat:.5f}" if spot else "",
            "lon": f"{spot.lon:.5f}" if spot else "",
            "seen": self._said(talk, "seen", Seen),
            "state": s.state,
            "cold_since": self.local(s.cold_since),
            "collected_by": self.words.holder(collector(trail)) if collector(trail) else "",
            "holder": ", ".join(map(self.words.holder, s.holders)),
            "either_of": " ".join(s.either_of) if not s.find else "",
        }
        return {column: cells[column] for column in MANIFEST}

    def local(self, at: datetime | None) -> str:
        """ "2026-11-21 18:30" in the programme's zone, "" for no time."""
        return f"{at.astimezone(self.wiring.programme.zone):%Y-%m-%d %H:%M}" if at else ""

    def _said(self, talk: Conversation | None, key: str, kind: type) -> str:
        value = _value(talk, key)
        if talk is None or not isinstance(value, kind):
            return ""
        return self._speaker(talk).answer(talk.answers[key])

    def _place(self, talk: Conversation | None, place: Place | None) -> str:
        if talk is None or place is None:
            return ""
        words = self._speaker(talk).place(place)
        figures = plain_degrees(place.lat, place.lon)
        return words if figures in words else f"{words} ({figures})"

    def _speaker(self, talk: Conversation) -> Speaker:
        own = Conversation(talk.code, talk.started_at)
        return Speaker(own, self.wiring.dialog, self.wiring.programme)


def collector(trail: Trail) -> str:
    """Who took it from the hunter, "" where nobody said so."""
    taken = (e.receiver for e in trail.events if isinstance(e, HandedOver) and e.giver == HUNTER)
    return next(taken, "")


def _value(talk: Conversation | None, key: str) -> Value | None:
    answer = talk.answers.get(key) if talk else None
    return answer.value if answer and not answer.declined else None
