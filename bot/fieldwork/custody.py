"""PURE. What can happen to a specimen, as frozen values that are stored whole and never changed.

Stored shapes only grow: a new field has a default, and no field or tag is renamed or removed.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from msgspec import Struct

Part = Literal["head", "jaw", "nodes", "tissue"]
State = Literal["", "warm", "bagged", "chilled", "frozen", "fixed"]
Status = Literal["", "received", "missing", "rejected", "provisional", "final", "amended"]
Outcome = Literal["", "positive", "negative", "not_testable"]
Release = Literal["", "kept", "handed_back", "sent"]

HUNTER = "hunter"
LABORATORY = "laboratory"
HANDED_IN = "handed_in"
"""At the laboratory or a depot, and it was not said which."""
DEPOT = "depot:"
"""Before a depot's name. Any other holder is an id of the roster, or a person's own name."""

COLD: tuple[State, ...] = ("chilled", "frozen")
MOST_CONTAINERS = 9
# ------------------------------------------------------------------------- events of a trail


class Made(Struct, frozen=True, tag="made"):
    """A container of its own: sampled on the spot, or a head that bore no label.

    `holder` "" is whoever has the head. `either_of` are the finds that an unlabelled one may
    belong to.
    """

    at: datetime
    by: str
    code: str
    part: Part = "head"
    holder: str = ""
    state: State = ""
    either_of: tuple[str, ...] = ()


class HandedOver(Struct, frozen=True, tag="handed_over"):
    """From one holder to another. `giver` "" is not known; `receiver` "" is lost from sight.

    The code without a number moves every container that the giver has. `cold_since` is when it
    was made cold, where that was said.
    """

    at: datetime
    by: str
    code: str
    giver: str
    receiver: str
    place: str = ""
    state: State = ""
    cold_since: datetime | None = None
    words: str = ""


class Settled(Struct, frozen=True, tag="holder_settled"):
    """A person has found out who has it."""

    at: datetime
    by: str
    code: str
    holder: str
    words: str = ""


class Decided(Struct, frozen=True, tag="label_decided"):
    """A person has found out which find an unlabelled specimen belongs to."""

    at: datetime
    by: str
    code: str
    find: str
    words: str = ""


class LabSaid(Struct, frozen=True, tag="lab_said"):
    """What the laboratory says of one specimen; `lab_number` is its own number for it."""

    at: datetime
    by: str
    code: str
    status: Status
    lab_number: str = ""
    outcome: Outcome = ""
    words: str = ""


class JawReleased(Struct, frozen=True, tag="jaw_released"):
    """A person has decided on the jaw, as laboratory and law allow."""

    at: datetime
    by: str
    code: str
    how: Release
    words: str = ""


CustodyEvent = Made | HandedOver | Settled | Decided | LabSaid | JawReleased
