"""The custody trail in the database: rows that are only ever added, and how specimens stand.

Law: called inside the transaction that holds the find's locks. What a trail finds wrong goes
onto the review list of every find that it may concern, in that same transaction.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

import msgspec
from sqlalchemy import Connection, bindparam, insert, or_, select

from bot.fieldwork.custody import CustodyEvent, Settled
from bot.fieldwork.specimens import (
    REASONS,
    Finding,
    Specimen,
    Trail,
    open_questions,
    record,
    root_of,
    told,
)
from bot.messages import AskCoordinator, SettleReview
from bot.service import tables
from bot.service.reviewing import apply_reviews, open_review
from bot.service.upsert import upsert

_K, _S, _C = tables.Custody, tables.Specimen, tables.Conversation
_EVENTS = select(_K.body).where(_K.root == bindparam("wanted")).order_by(_K.id)
READ: msgspec.json.Decoder[CustodyEvent] = msgspec.json.Decoder(CustodyEvent)


def trail_of(connection: Connection, root: str) -> Trail:
    """The trail under a code; an empty one where nothing was ever said of it."""
    rows = connection.scalars(_EVENTS, {"wanted": root})
    return told(root, tuple(READ.decode(body) for body in rows))


def keep_custody(
    connection: Connection, root: str, events: Sequence[CustodyEvent], now: datetime
) -> Trail:
    """Add events to one trail, and put what they find wrong before the coordinator."""
    trail, findings = trail_of(connection, root), list[Finding]()
    for event in events:
        trail, found = record(trail, event)
        findings += found
    rows = [
        {
            "root": root,
            "kind": event.__struct_config__.tag,
            "body": msgspec.json.encode(event).decode(),
            "at": event.at,
            "kept_at": now,
        }
        for event in events
    ]
    connection.execute(insert(_K), rows)
    for specimen in trail.specimens:
        upsert(connection, _S, _row(root, specimen), ("code",))
    _show(connection, trail, events, findings, now)
    return trail


def _row(root: str, specimen: Specimen) -> dict[str, str]:
    undecided = specimen.either_of if not specimen.find else ()
    return {
        "code": specimen.code,
        "root": root,
        "find": specimen.find,
        "candidates": "".join(f" {code} " for code in undecided),
        "state": msgspec.json.encode(specimen).decode(),
    }


def finds_of(trail: Trail) -> tuple[str, ...]:
    """The finds that a trail is about, or may be."""
    codes = [s.find for s in trail.specimens if s.find] or [
        code for s in trail.specimens for code in s.either_of
    ]
    return tuple(dict.fromkeys(codes)) or (trail.root,)


def _show(
    connection: Connection,
    trail: Trail,
    events: Sequence[CustodyEvent],
    findings: Iterable[Finding],
    now: datetime,
) -> None:
    """Put what was found on the review list, after a person's word has cleared what it clears."""
    ids = list(connection.scalars(select(_C.id).where(_C.code.in_(finds_of(trail)))))
    if any(isinstance(event, Settled) for event in events):
        open_now = {finding.reason for finding in open_questions(trail)}
        settled = SettleReview(tuple(r for r in REASONS if r not in open_now))
        for find_id in ids:
            apply_reviews(connection, find_id, (settled,), now)
    for finding in findings:
        heard = f"{finding.code}: {finding.words}" if finding.words else finding.code
        for find_id in ids:
            open_review(connection, find_id, AskCoordinator(finding.reason, heard), now)


# ------------------------------------------------------------------------------------- reading


def specimens_of(connection: Connection, find: str) -> tuple[Specimen, ...]:
    """Every container that is a find's by decision or label."""
    rows = connection.scalars(select(_S.state).where(_S.find == find).order_by(_S.code))
    return tuple(map(_specimen, rows))


def roots_of(connection: Connection, find: str) -> tuple[str, ...]:
    """The codes whose trails are, or may be, about a find; its own first."""
    mine = or_(_S.find == find, _S.candidates.contains(f" {find} "))
    others = connection.scalars(select(_S.root).where(mine).order_by(_S.root))
    return tuple(dict.fromkeys((find, *others)))


def all_specimens(connection: Connection) -> tuple[Specimen, ...]:
    """Every container that there is, by code."""
    return tuple(map(_specimen, connection.scalars(select(_S.state).order_by(_S.code))))


def find_of(connection: Connection, code: str) -> str:
    """The find under whose lock a specimen's trail is written: its own, or the first that an
    unlabelled one may be of. LookupError where no such code is known."""
    root = root_of(code)
    if connection.scalar(select(_C.id).where(_C.code == root)) is not None:
        return root
    state = connection.scalar(select(_S.state).where(_S.root == root))
    if state is None:
        raise LookupError(f"no specimen {code}")
    specimen = _specimen(state)
    return specimen.find or specimen.either_of[0]


def _specimen(state: str) -> Specimen:
    return msgspec.json.decode(state, type=Specimen)
