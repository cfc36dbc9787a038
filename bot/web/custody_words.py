"""The words of specimens from dialogs/custody.toml, and how a trail is written for people."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from bot.fieldwork.custody import (
    DEPOT,
    HANDED_IN,
    HUNTER,
    LABORATORY,
    CustodyEvent,
    Decided,
    HandedOver,
    JawReleased,
    LabSaid,
    Made,
    Settled,
)
from bot.programme import Programme
from bot.talk.dialog import Dialog

FILE = "custody.toml"


@dataclass(frozen=True, slots=True)
class SpecimenWords:
    """Codes -> words by section, and the names of whoever may hold a specimen."""

    sections: Mapping[str, Mapping[str, str]]
    names: Mapping[str, str]
    depots: tuple[str, ...]

    def of(self, section: str, code: str) -> str:
        """The words for a code; one that has none is shown as it stands, readable."""
        return self.sections.get(section, {}).get(code) or code.replace("_", " ")

    def holder(self, holder: str) -> str:
        """Who that is: a name of the roster, a depot, the laboratory, or a name as it stands."""
        if holder.startswith(DEPOT):
            return holder.removeprefix(DEPOT)
        return self.sections["holder"].get(holder) or self.names.get(holder, holder)

    def holders(self, *, with_hunter: bool = True) -> tuple[tuple[str, str], ...]:
        """Everybody who may be chosen as a holder, with their words."""
        fixed = (HUNTER,) if with_hunter else ()
        places = (*(DEPOT + d for d in self.depots), LABORATORY, HANDED_IN)
        return tuple((h, self.holder(h)) for h in (*fixed, *self.names, *places))

    def event(self, event: CustodyEvent) -> str:
        """One line of the trail."""
        match event:
            case Made():
                either = f", either of {' or '.join(event.either_of)}" if event.either_of else ""
                return f"{self.of('part', event.part)} in a container of its own{either}"
            case HandedOver():
                return f"{self.holder(event.giver)} to {self.holder(event.receiver)}"
            case Settled():
                return f"a person settled: {self.holder(event.holder)} has it"
            case Decided():
                return f"a person decided: it belongs to {event.find}"
            case LabSaid():
                said = (self.of("status", event.status), self.of("outcome", event.outcome))
                return f"laboratory: {' '.join(filter(None, said))}"
            case JawReleased():
                return f"jaw: {self.of('released', event.how)}"


def specimen_words(dialog: Dialog, programme: Programme) -> SpecimenWords:
    """The words with a programme's people and depots, made once for each pair of files."""
    return _built(dialog.files.get(FILE, ""), _Programme(programme))


class _Programme:
    """A programme as a key of the cache: by the hash of its files."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme

    def __hash__(self) -> int:
        return hash(self.programme.hash)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Programme) and other.programme.hash == self.programme.hash


@lru_cache(maxsize=8)
def _built(text: str, key: _Programme) -> SpecimenWords:
    read: dict[str, Any] = tomllib.loads(text)
    programme = key.programme
    return SpecimenWords(
        sections={k: v for k, v in read.items() if isinstance(v, dict) and k != "listen"},
        names={m.id: m.name for m in programme.roster if m.role == "field"},
        depots=tuple(m.name for m in programme.landmarks if m.kind == "depot"),
    )
