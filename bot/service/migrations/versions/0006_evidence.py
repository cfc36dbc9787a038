"""Every kept find as evidence: place, day, animal, what was looked at, in columns of their own."""

import json
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

ROW = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
AT = sa.DateTime(timezone=True)
AT_ONCE = 500


def upgrade() -> None:
    """Make the table, and fill it from the conversations that are there."""
    table = op.create_table(
        "evidence",
        sa.Column("conversation_id", ROW, autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("opened", sa.Double(), nullable=False),
        sa.Column("lat", sa.Double(), nullable=True),
        sa.Column("lon", sa.Double(), nullable=True),
        sa.Column("earliest", sa.Double(), nullable=True),
        sa.Column("latest", sa.Double(), nullable=True),
        sa.Column("species", sa.Text(), nullable=True),
        sa.Column("sort", sa.Text(), nullable=True),
        sa.Column("animals", sa.Integer(), nullable=False),
        sa.Column("checked", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["conversation_id"], ["conversations.id"], name=op.f("fk_evidence_conversation_id")
        ),
        sa.PrimaryKeyConstraint("conversation_id", name=op.f("pk_evidence")),
    )
    finds = sa.table(
        "conversations",
        *(sa.column(name, kind) for name, kind in (("id", ROW), ("find_state", sa.Text()))),
        *(sa.column(name, sa.Text()) for name in ("code", "state")),
        sa.column("opened_at", AT),
    )
    connection, last = op.get_bind(), 0
    some = sa.select(finds).where(finds.c.find_state != "").order_by(finds.c.id).limit(AT_ONCE)
    while rows := connection.execute(some.where(finds.c.id > last)).all():
        connection.execute(sa.insert(table), [_row(row) for row in rows])
        last = rows[-1].id


def _row(found: Any) -> dict[str, Any]:
    """The row of one stored conversation, as its JSON was on the day of this migration."""
    answers = json.loads(found.state).get("answers", {})
    told = {q: a["value"] for q, a in answers.items() if not a.get("declined")}
    place = _of(told, "kill_place", "place")
    when, animal = _of(told, "when", "when"), _of(told, "species", "animal")
    return {
        "conversation_id": found.id,
        "code": found.code,
        "state": found.find_state,
        "opened": found.opened_at.replace(tzinfo=found.opened_at.tzinfo or UTC).timestamp(),
        "lat": place.get("lat"),
        "lon": place.get("lon"),
        "earliest": _moment(when.get("earliest")),
        "latest": _moment(when.get("latest")),
        "species": animal.get("species", "") if animal else None,
        "sort": animal.get("sort", "") if animal else None,
        "animals": animal.get("count", 1),
        "checked": json.dumps(
            _of(told, "seen", "seen").get("checked", []), separators=(",", ":"), ensure_ascii=False
        ),
    }


def _of(told: dict[str, Any], question: str, kind: str) -> dict[str, Any]:
    value = told.get(question, {})
    return value if value.get("type") == kind else {}


def _moment(written: str | None) -> float | None:
    return None if written is None else datetime.fromisoformat(written).timestamp()
