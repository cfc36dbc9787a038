"""What the coordinator's pages and the chat read. Nothing here writes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from sqlalchemy import Connection, func, select

from bot.fieldwork import state as pickup_state
from bot.fieldwork.spoiling import overdue
from bot.service import tables
from bot.service.beginning import contents_of
from bot.service.columns import Found
from bot.service.database import Database
from bot.service.desk_rows import (
    AnswerRow,
    Card,
    ChatTalk,
    EventRow,
    FindRow,
    History,
    OutboxState,
    ReviewRow,
    Waiting,
)
from bot.service.lines import chat_lines, lines_of
from bot.talk import state as talk_state
from bot.talk.urgency import most_urgent_first, warm_for, worst_first

_C, _H, _P, _R, _O = (
    tables.Conversation,
    tables.Hunter,
    tables.Pickup,
    tables.Review,
    tables.TextOut,
)
_A, _E, _X = tables.Answer, tables.Event, tables.Archived


@dataclass(frozen=True, slots=True)
class Desk:
    """Reads for the pages, each from one state of the database."""

    database: Database

    def review_list(self, now: datetime) -> tuple[Waiting, ...]:
        """Every conversation that needs a person, most urgent first."""
        query = (
            select(
                *(_C.code, _C.state, _R.reason, _R.heard, _R.at_once, _R.opened_at, _R.taken_by),
                _P.state.label("pickup"),
            )
            .join(_C, _C.id == _R.conversation_id)
            .outerjoin(_P, _P.conversation_id == _C.id)
            .where(_R.closed_at.is_(None))
            .order_by(_C.id, _R.id)
        )
        with self.database.read() as connection:
            rows = connection.execute(query).all()
        grouped = groupby(rows, key=lambda row: row.code)
        return most_urgent_first(_waiting(code, list(group), now) for code, group in grouped)

    def find_card(self, code: str) -> Card | None:
        """Everything about one find, or None if there is none of this code."""
        query = select(
            *(_C.id, _C.code, _C.state, _C.find_state, _C.opened_at, _C.last_event_at),
            *(_C.hunter_id, _H.channel, _H.number, _H.gateway, _H.opted_out),
        ).join(_H, _H.id == _C.hunter_id)
        with self.database.read() as connection:
            row = connection.execute(query.where(_C.code == code)).one_or_none()
            return _card(connection, row) if row else None

    def finds(self, before: int | None = None, limit: int = 50) -> tuple[FindRow, ...]:
        """Finds, newest first; `before` is the id of the last one that the page before showed."""
        query = (
            select(
                *(_C.id, _C.code, _C.stage, _C.find_state, _C.opened_at, _C.last_event_at),
                *(func.coalesce(_P.name, ""), func.coalesce(_P.staff_id, "")),
            )
            .outerjoin(_P, _P.conversation_id == _C.id)
            .order_by(_C.id.desc())
            .limit(limit)
        )
        if before is not None:
            query = query.where(_C.id < before)
        with self.database.read() as connection:
            return tuple(FindRow(*row) for row in connection.execute(query))

    def outbox_state(self) -> OutboxState:
        """How many texts wait, since when, and how many were given up."""
        waiting = select(func.count(), func.min(_O.decided_at)).where(_O.state == "waiting")
        failed = select(func.count()).where(_O.state == "failed")
        with self.database.read() as connection:
            count, oldest = connection.execute(waiting).one()
            return OutboxState(count, connection.execute(failed).scalar_one(), oldest)

    def chat_talk(self, session: str, after: int = 0) -> ChatTalk:
        """What was said in one chat session after a point."""
        with self.database.read() as connection:
            return chat_lines(connection, session, after)

    def history(self, code: str) -> History | None:
        """What a replay needs: where both machines began, and every event since. None for a
        find that is not there or whose hunter was erased."""
        query = select(_C.id, _C.first_state, _P.id, _P.first_state).outerjoin(
            _P, _P.conversation_id == _C.id
        )
        kept = query.join(_H, _H.id == _C.hunter_id).where(_H.erased_at.is_(None))
        with self.database.read() as connection:
            row = connection.execute(kept.where(_C.code == code)).one_or_none()
            if row is None:
                return None
            find_id, first, pickup_id, first_pickup = row
            return History(
                talk_state.load(first),
                pickup_state.load(first_pickup) if first_pickup else None,
                _events(connection, find_id, pickup_id),
            )

    def contents(self, name: str) -> Mapping[str, str] | None:
        """The files that a dialog's or programme's hash stands for."""
        with self.database.read() as connection:
            return contents_of(connection, name)


def _waiting(code: str, rows: list[Found], now: datetime) -> Waiting:
    conversation = talk_state.load(rows[0].state)
    return Waiting(
        code=code,
        reasons=worst_first(row.reason for row in rows),
        heard=tuple(dict.fromkeys(row.heard for row in rows if row.heard)),
        at_once=any(row.at_once for row in rows),
        opened_at=min(row.opened_at for row in rows),
        taken_by=next((row.taken_by for row in rows if row.taken_by), ""),
        warm=warm_for(conversation, now),
        conversation=conversation,
        overdue=_overdue(rows[0].pickup, now),
    )


def _overdue(stored: str | None, now: datetime) -> timedelta | None:
    """How far a head that is still to be brought in is past its time."""
    pickup = pickup_state.load(stored) if stored else None
    live = pickup is not None and pickup.state in pickup_state.LIVE
    return overdue(pickup.best_by, now) if pickup and live else None


def _card(connection: Connection, row: Found) -> Card:
    conversation = talk_state.load(row.state)
    pickup = connection.execute(
        select(_P.id, _P.state).where(_P.conversation_id == row.id)
    ).one_or_none()
    answers = select(_A.question, _A.value, _A.heard, _A.by, _A.at)
    reviews = select(_R.reason, _R.heard, _R.at_once, _R.opened_at, _R.closed_at, _R.taken_by)
    return Card(
        code=row.code,
        turn=conversation.turn,
        conversation=conversation,
        find_state=row.find_state,
        opened_at=row.opened_at,
        last_event_at=row.last_event_at,
        channel=row.channel,
        number=row.number,
        gateway=row.gateway,
        opted_out=row.opted_out,
        pickup=pickup_state.load(pickup.state) if pickup else None,
        lines=lines_of(connection, row.id, row.hunter_id),
        answers=tuple(
            AnswerRow(*found)
            for found in connection.execute(
                answers.where(_A.conversation_id == row.id).order_by(_A.id)
            )
        ),
        reviews=tuple(
            ReviewRow(*found)
            for found in connection.execute(
                reviews.where(_R.conversation_id == row.id).order_by(_R.id)
            )
        ),
        events=_events(connection, row.id, pickup.id if pickup else None),
        archived_at=connection.scalar(select(_X.at).where(_X.conversation_id == row.id)),
    )


def _events(connection: Connection, find_id: int, pickup_id: int | None) -> tuple[EventRow, ...]:
    """Both streams of a find, in the order in which their events arrived."""
    mine = (_E.stream == "conversation") & (_E.stream_id == find_id)
    if pickup_id is not None:
        mine = mine | ((_E.stream == "pickup") & (_E.stream_id == pickup_id))
    columns = (_E.stream, _E.seq, _E.kind, _E.at, _E.body, _E.dialog_hash, _E.programme_hash)
    rows = connection.execute(select(*columns).where(mine).order_by(_E.id))
    return tuple(EventRow(*row) for row in rows)
