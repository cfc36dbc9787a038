"""The statements that the job runs for a text, recorded so that a bare route can run them again.

They are heard at the driver, below whatever put them together. While recording, each table's row
numbers start a thousand million apart, so that a number in a parameter says by itself which row
it means; hunter's number, code and gateway's id are marked by the words that stand for them.
Nothing else of a statement is changed.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import psycopg
from sqlalchemy import event, text

from bot.messages import Heard
from bot.service import tables as t
from bot.service.database import Database
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
    if type(value) is not str:
        return value
    if "QQ" in value or "bench-key" in value or NUMBER in value:
        code, number = names.code, names.number
        value = value.replace(CODE, code).replace(NUMBER, number).replace(KEY, number)
        value = value.replace("qqqqqq", code.replace("-", "").lower())
    if '_id":' in value:  # Rows that are given as JSON.
        for recorded, now in real.items():
            value = value.replace(f'_id":{recorded}', f'_id":{now}')
    return value


# --------------------------------------------------------------------------------- recording


@dataclass(slots=True)
class Ear:
    """Hears what every cursor of a database runs, from when it is put there."""

    steps: list[Step]
    latest: dict[str, int]

    def hear(self, sql: str, rows: Any, many: bool) -> None:
        """One statement; the row number that it will give is the next of its table."""
        heard = tuple(rows) if many else ((rows,) if rows else ())
        new = 0
        if sql.startswith("INSERT INTO ") and (table := sql.split()[2]) in self.latest:
            self.latest[table] += len(heard)
            new = self.latest[table] if "RETURNING" in sql else 0
        self.steps.append(Step(sql, heard, many, new))

    def listen(self, database: Database) -> None:
        """Listen at every connection that is opened from now on."""

        def connecting(dialect: Any, record: Any, args: Any, options: dict[str, Any]) -> None:
            options |= _sqlite(self) if database.is_sqlite else _postgres(self)

        event.listen(database.engine, "do_connect", connecting)
        database.engine.dispose()


def _postgres(ear: Ear) -> dict[str, Any]:
    class Cursor(psycopg.Cursor[Any]):
        def execute(self, query: Any, params: Any = None, **how: Any) -> Any:
            ear.hear(query, params, many=False)
            return super().execute(query, params, **how)

        def executemany(self, query: Any, params_seq: Any, **how: Any) -> None:
            ear.hear(query, params_seq, many=True)
            super().executemany(query, params_seq, **how)

    return {"cursor_factory": Cursor}


def _sqlite(ear: Ear) -> dict[str, Any]:
    class Cursor(sqlite3.Cursor):
        def execute(self, query: str, params: Any = ()) -> sqlite3.Cursor:
            ear.hear(query, params, many=False)
            return super().execute(query, params)

        def executemany(self, query: str, params: Any) -> sqlite3.Cursor:
            ear.hear(query, params, many=True)
            return super().executemany(query, params)

    class Connection(sqlite3.Connection):
        def cursor(self, factory: Any = Cursor) -> Any:
            return super().cursor(Cursor)

    return {"factory": Connection}


def record(intake: Intake, talks: tuple[tuple[str, ...], ...]) -> list[list[Text]]:
    """Play each talk once on an empty database, and keep what was run for each of its texts."""
    for place, body in enumerate(talks[0]):  # What is looked up once is looked up now.
        _hear(intake, f"first-{place}", body)
    _rename(intake, "first")
    ear = Ear([], _spread_numbers(intake.database))
    ear.listen(intake.database)
    scripts: list[list[Text]] = []
    for n, talk in enumerate(talks):
        texts = []
        for place, body in enumerate(talk):
            ear.steps = []
            _hear(intake, f"{n}-{place}", body)
            texts.append(Text(body, tuple(map(_plain, filter(_is_own, ear.steps)))))
        scripts.append(texts)
        _rename(intake, str(n))
    return scripts


def _hear(intake: Intake, key: str, body: str) -> None:
    now = datetime.now(UTC)
    intake.hear(Heard(f"{KEY}-{key}", "paddock", NUMBER, body, now), now)


def _is_own(step: Step) -> bool:
    """Whether a statement is the text's own, and not a new connection's or the transaction's."""
    return not step.sql.startswith(("SET ", "PRAGMA ", "SELECT 1", "BEGIN"))


def _plain(step: Step) -> Step:
    """The driver is given no more than it needs."""
    return Step(str(step.sql), step.rows, step.many, step.new)


def _rename(intake: Intake, name: str) -> None:
    """The next talk is the same hunter's, under the same code."""
    with intake.database.write() as connection:
        for table, column, old in (
            ("conversations", "code", CODE),
            ("hunters", "number", NUMBER),
            ("pickups", "code", CODE),
            ("evidence", "code", CODE),
        ):
            rename = text(f"UPDATE {table} SET {column} = :new WHERE {column} = :old")
            connection.execute(rename, {"new": f"done-{name}", "old": old})


def _spread_numbers(database: Database) -> dict[str, int]:
    """Let each table's row numbers start far from all others; the latest of each."""
    latest = {table.__tablename__: n * FIRST_ID for n, table in enumerate(NUMBERED, 1)}
    if database.is_sqlite:
        # The next number is one above the highest; references are not looked at here.
        with closing(sqlite3.connect(database.engine.url.database or "")) as driver:
            for name, number in latest.items():
                highest = f"(SELECT max(id) FROM {name})"
                driver.execute(f"UPDATE {name} SET id = {number} WHERE id = {highest}")
            driver.commit()
        return latest
    with database.write() as connection:
        for name, number in latest.items():
            ask = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :number)")
            connection.execute(ask, {"name": name, "number": number})
    return latest
