"""PURE. What becomes of a head once somebody has it: its containers, and who has each of them.

Law: a trail only grows. Whatever is said is kept, also where it contradicts what stands: then
it is a finding, and a person settles it. A specimen's holders are exactly one person or place;
none or two of them is never without a finding.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bot.fieldwork.custody import (
    COLD,
    DEPOT,
    HANDED_IN,
    HUNTER,
    LABORATORY,
    MOST_CONTAINERS,
    CustodyEvent,
    Decided,
    HandedOver,
    JawReleased,
    LabSaid,
    Made,
    Outcome,
    Part,
    Release,
    Settled,
    State,
    Status,
)

REASONS = (
    "custody_gap",
    "custody_two_hold",
    "custody_no_such",
    "custody_out_of_order",
    "custody_after_release",
    "specimen_missing",
    "specimen_rejected",
)
"""Everything for which a trail asks the coordinator."""


class Finding(Struct, frozen=True):
    """Something in a trail that a person must look at."""

    reason: str
    code: str
    words: str = ""


class Specimen(Struct, frozen=True):
    """One container as it stands. `find` is "" while nobody knows whose head it is."""

    code: str
    part: Part = "head"
    find: str = ""
    either_of: tuple[str, ...] = ()
    holders: tuple[str, ...] = ()
    place: str = ""
    state: State = ""
    since: datetime | None = None
    cold_since: datetime | None = None
    lab_number: str = ""
    status: Status = ""
    outcome: Outcome = ""
    released: Release = ""

    @property
    def holder(self) -> str:
        """The one who has it; "" where that is nobody, or two."""
        return self.holders[0] if len(self.holders) == 1 else ""


class Trail(Struct, frozen=True):
    """All that was said about the specimens under one code, and how they stand."""

    root: str
    specimens: tuple[Specimen, ...] = ()
    events: tuple[CustodyEvent, ...] = ()
    findings: tuple[Finding, ...] = ()

    def specimen(self, code: str) -> Specimen | None:
        """The container of a code."""
        return next((s for s in self.specimens if s.code == code), None)


def record(trail: Trail, event: CustodyEvent) -> tuple[Trail, tuple[Finding, ...]]:
    """Add one event; give the trail as it stands now, and what a person must look at."""
    found: list[Finding] = []
    specimens = tuple(_MOVES[type(event)](trail, event, found))
    whole = replace(
        trail,
        specimens=specimens,
        events=(*trail.events, event),
        findings=(*trail.findings, *found),
    )
    return whole, tuple(found)


def told(root: str, events: tuple[CustodyEvent, ...]) -> Trail:
    """The trail that these events make."""
    trail = Trail(root)
    for event in events:
        trail, _ = record(trail, event)
    return trail


def open_questions(trail: Trail) -> tuple[Finding, ...]:
    """What stands open now: nobody, or two, who have a specimen; a head that may be either's."""
    found = []
    for s in trail.specimens:
        if len(s.holders) != 1 and not s.released:
            reason = "custody_two_hold" if s.holders else "custody_gap"
            found.append(Finding(reason, s.code, ", ".join(s.holders)))
        if s.either_of and not s.find:
            found.append(Finding("either_of", s.code, ", ".join(s.either_of)))
    return tuple(found)


def container_code(root: str, number: int) -> str:
    """ "K7R-4TX/2", said "stroke two"."""
    return f"{root}/{number}"


def next_container(trail: Trail) -> str:
    """The code for one more container; LookupError where all nine are taken."""
    taken = {s.code for s in trail.specimens}
    codes = (container_code(trail.root, n) for n in range(1, MOST_CONTAINERS + 1))
    free = next((code for code in codes if code not in taken), None)
    if free is None:
        raise LookupError(f"{trail.root} has {MOST_CONTAINERS} containers already")
    return free


def root_of(code: str) -> str:
    """The code that a container's number was put behind."""
    return code.partition("/")[0]


def outcome_of(specimens: Iterable[Specimen], find: str) -> Outcome:
    """What the laboratory says of a find: one positive container is a positive animal; negative
    only once nothing that was sent is waited for, since the next may be positive yet."""
    mine = [s for s in specimens if s.find == find and s.part != "jaw"]
    said = [s.outcome for s in mine if s.status in ("final", "amended")]
    if "positive" in said:
        return "positive"
    waits = [s for s in mine if s.status in ("received", "provisional")]
    if waits or not said:
        return ""
    return "negative" if "negative" in said else "not_testable"


# ------------------------------------------------------------------------ what each event does


def _made(trail: Trail, event: Made, found: list[Finding]) -> Iterator[Specimen]:
    yield from trail.specimens
    if trail.specimen(event.code):
        found.append(Finding("custody_no_such", event.code, "made twice"))
        return
    head = trail.specimen(trail.root)
    holders = (event.holder,) if event.holder else head.holders if head else ()
    if not holders:
        found.append(Finding("custody_gap", event.code))
    if len(holders) > 1:
        found.append(Finding("custody_two_hold", event.code, ", ".join(holders)))
    yield Specimen(
        code=event.code,
        part=event.part,
        find="" if event.either_of else trail.root,
        either_of=event.either_of,
        holders=holders,
        place=head.place if head else "",
        state=event.state or (head.state if head else ""),
        since=event.at,
        cold_since=event.at if event.state in COLD else (head.cold_since if head else None),
    )


def _handed_over(trail: Trail, event: HandedOver, found: list[Finding]) -> Iterator[Specimen]:
    first = not trail.specimens and event.code == trail.root
    specimens = (Specimen(trail.root, find=trail.root),) if first else trail.specimens
    moved = _moved_by(event, specimens)
    if not moved:
        found.append(Finding("custody_no_such", event.code, event.words))
    for s in specimens:
        yield _passed(s, event, found) if s.code in moved else s


def _moved_by(event: HandedOver, specimens: tuple[Specimen, ...]) -> frozenset[str]:
    """The containers that a hand-over is about."""
    under = [s for s in specimens if root_of(s.code) == event.code]
    if not under or "/" in event.code:
        return frozenset(s.code for s in specimens if s.code == event.code)
    live = [s for s in under if not s.released] or under
    own = [s.code for s in live if event.giver in s.holders]
    return frozenset(own or (s.code for s in live))


def _passed(s: Specimen, event: HandedOver, found: list[Finding]) -> Specimen:
    """One container after a hand-over, with whatever does not fit named."""

    def note(reason: str, words: str = "") -> None:
        found.append(Finding(reason, s.code, words or event.words))

    if s.released:
        note("custody_after_release")
        return s
    if s.since and event.at < s.since:
        note("custody_out_of_order")
    holders = _holders_after(s, event)
    if len(holders) > 1:
        note("custody_two_hold", ", ".join(holders))
    elif not holders or (s.holders == () and not _from_the_hunter(s, event)):
        note("custody_gap")
    state = event.state or s.state
    cold = event.cold_since or (event.at if state in COLD and s.state not in COLD else s.cold_since)
    return replace(
        s,
        holders=holders,
        place=event.place or (s.place if holders == s.holders else ""),
        state=state,
        since=event.at,
        cold_since=cold if state in COLD else None,
    )


def _from_the_hunter(s: Specimen, event: HandedOver) -> bool:
    """Whether this is where a trail may begin."""
    return s.since is None and event.giver == HUNTER


def _holders_after(s: Specimen, event: HandedOver) -> tuple[str, ...]:
    """The receiver beside everybody who had it and did not give it."""
    if event.giver in s.holders or not event.receiver:
        left = tuple(h for h in s.holders if h != event.giver)
    else:
        left = s.holders
    return tuple(dict.fromkeys((*left, event.receiver))) if event.receiver else left


def _settled(trail: Trail, event: Settled, found: list[Finding]) -> Iterator[Specimen]:
    holders = (event.holder,) if event.holder else ()
    if not holders:
        found.append(Finding("custody_gap", event.code, event.words))
    yield from _changed(trail, event.code, found, holders=holders, since=event.at)


def _decided(trail: Trail, event: Decided, found: list[Finding]) -> Iterator[Specimen]:
    yield from _changed(trail, event.code, found, find=event.find)


def _released(trail: Trail, event: JawReleased, found: list[Finding]) -> Iterator[Specimen]:
    s = trail.specimen(event.code)
    if s and s.released:
        found.append(Finding("custody_after_release", event.code, event.words))
    holder = HUNTER if event.how != "kept" else LABORATORY
    yield from _changed(
        trail, event.code, found, released=event.how, holders=(holder,), since=event.at
    )


def _lab_said(trail: Trail, event: LabSaid, found: list[Finding]) -> Iterator[Specimen]:
    s = trail.specimen(event.code)
    fields: dict[str, object] = {"status": event.status, "outcome": event.outcome}
    if event.lab_number:
        fields["lab_number"] = event.lab_number
    if event.status in ("missing", "rejected"):
        found.append(Finding(f"specimen_{event.status}", event.code, event.words))
    if s and event.status != "missing" and s.holders != (LABORATORY,) and not s.released:
        # The laboratory has it in its hands, whoever was thought to. That somebody brought it
        # without a word is a gap all the same.
        if not (s.holder == HANDED_IN or s.holder.startswith(DEPOT)):
            found.append(Finding("custody_gap", event.code, ", ".join(s.holders)))
        fields |= {"holders": (LABORATORY,), "since": event.at, "place": ""}
    yield from _changed(trail, event.code, found, **fields)


def _changed(trail: Trail, code: str, found: list[Finding], **fields: object) -> Iterator[Specimen]:
    """Every container, one of them with other fields; a finding where there is none."""
    if trail.specimen(code) is None:
        found.append(Finding("custody_no_such", code))
    for s in trail.specimens:
        yield replace(s, **fields) if s.code == code else s


_MOVES: dict[type, Callable[[Trail, Any, list[Finding]], Iterator[Specimen]]] = {
    Made: _made,
    HandedOver: _handed_over,
    Settled: _settled,
    Decided: _decided,
    LabSaid: _lab_said,
    JawReleased: _released,
}
