"""The statements that the job runs for a text, recorded so that a bare route can run them again.

While recording, each table's row numbers start a thousand million apart, so that a number in a
parameter says by itself which row it means; hunter's number, code and gateway's id are marked
by the words that stand for them. Nothing else of a statement is changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import event, text

from bot.messages import Heard
from bot.service import tables as t
from bot.service.intake import Intake
from tests.faults.texts import number_of

FIRST_ID = 1_000_000_000
CODE, NUMBER, KEY = "QQQ-QQQ", "+61799990000", "bench-key"
NUMBERED = (t.TextIn, t.Hunter, t.Conversation, t.Event, t.Pickup, t.TextOut, t.Timer, t.Answer,
            t.Review, t.Custody)  # fmt: skip
LETTERS = "23456789ABCDEFGHJKLMNPRSTVWXYZ"

Row = dict[str, Any] | tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Names:
    """What stands for the recorded hunter in one play: his number, code, and texts' ids."""

    number: str
    code: str

    @classmethod
    def of(cls, n: int) -> Names:
        """Of the n-th hunter."""
        letters, rest = "", n
        for _ in range(6):
            rest, letter = divmod(rest, len(LETTERS))
            letters += LETTERS[letter]
        return cls(number_of(n), f"{letters[:3]}-{letters[3:]}")


@dataclass(frozen=True, slots=True)
class Step:
    """One statement with its parameters; `new` is the row number that it gave, 0 if none."""

    sql: str
    rows: tuple[Row, ...]
    many: bool
    new: int = 0


@dataclass(frozen=True, slots=True)
class Text:
    """One text and everything that was run for it."""

    body: str
    steps: tuple[Step, ...]


def settle(row: Row, names: Names, real: dict[int, int]) -> Row:
    """Parameters for this play: real row numbers and names instead of the recorded ones."""
    if isinstance(row, dict):
        return {key: _settled(value, names, real) for key, value in row.items()}
    return tuple(_settled(value, names, real) for value in row)


def _settled(value: Any, names: Names, real: dict[int, int]) -> Any:
    if type(value) is int:
        return real.get(value, value) if value >= FIRST_ID else value
    if type(value) is str and ("QQ" in value or "bench-key" in value or NUMBER in value):
        code, number = names.code, names.number
        value = value.replace(CODE, code).replace(NUMBER, number).replace(KEY, number)
        return value.replace("qqqqqq", code.replace("-", "").lower())
    return value


def record(intake: Intake, talks: tuple[tuple[str, ...], ...]) -> list[list[Text]]:
    """Play each talk once on an empty database, and keep what was run for each of its texts."""
    latest = _spread_numbers(intake)
    scripts: list[list[Text]] = []
    for n, talk in enumerate(talks):
        texts = [_record_one(intake, f"{n}-{place}", body, latest)
                 for place, body in enumerate(talk)]  # fmt: skip
        scripts.append(texts)
        with intake.database.write() as connection:
            # The next talk is the same hunter's, under the same code.
            rename = text("UPDATE conversations SET code = :new WHERE code = :old")
            connection.execute(rename, {"new": f"done-{n}", "old": CODE})
            rename = text("UPDATE hunters SET number = :new WHERE number = :old")
            connection.execute(rename, {"new": f"done-{n}", "old": NUMBER})
            connection.execute(text("UPDATE pickups SET code = 'done'"))
    return scripts


def _spread_numbers(intake: Intake) -> dict[str, int]:
    """Let each table's row numbers start far from all others; the latest of each."""
    latest = {table.__tablename__: n * FIRST_ID for n, table in enumerate(NUMBERED, 1)}
    with intake.database.write() as connection:
        for name, number in latest.items():
            ask = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :number)")
            connection.execute(ask, {"name": name, "number": number})
    return latest


def _record_one(intake: Intake, key: str, body: str, latest: dict[str, int]) -> Text:
    steps: list[Step] = []

    def ran(conn: Any, cursor: Any, sql: str, params: Any, context: Any, many: bool) -> None:
        rows = tuple(params) if many else ((params,) if params else ())
        new = 0
        if sql.startswith("INSERT INTO ") and (table := sql.split()[2]) in latest:
            latest[table] += len(rows)
            new = latest[table] if "RETURNING" in sql else 0
        steps.append(Step(sql, rows, many, new))

    engine = intake.database.engine
    event.listen(engine, "after_cursor_execute", ran)
    now = datetime.now(UTC)
    try:
        intake.hear(Heard(f"{KEY}-{key}", "paddock", NUMBER, body, now), now)
    finally:
        event.remove(engine, "after_cursor_execute", ran)
    return Text(body, tuple(steps))
