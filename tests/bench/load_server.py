"""What the load bench serves: the whole job, and two bare routes beside it, for gunicorn.

`replayed` runs the very SQL statements that the job ran for the same text, recorded beforehand,
in one transaction, by the driver alone. `inserts` makes two durable inserts. Neither verifies,
reads, decides or encodes anything.
"""

from __future__ import annotations

import json
import os
import pickle
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from flask import Flask, Response, request

from tests.bench.load_script import FIRST_ID, Names, Step, Text, settle

_own = threading.local()
_queue = threading.Lock()


def job() -> Flask:
    """The service itself."""
    from bot.commands.wsgi import app

    return app()


def replayed() -> Flask:
    """A bare route that replays the job's statements. The request says which text of which
    script; row numbers of this hunter's rows travel with the requests, as {recorded: real}."""
    app = Flask(__name__)
    scripts: list[list[Text]] = pickle.loads(Path(os.environ["BENCH_SCRIPT"]).read_bytes())

    @app.post("/hear/paddock")
    def hear() -> Response:
        script, place, number, ids = json.loads(request.get_data())["play"]
        real = {int(key): value for key, value in ids.items()}
        names = Names.of(number)
        with _transaction() as driver:
            cursor = driver.cursor()
            for step in scripts[script][place].steps:
                _run(cursor, step, names, real)
        return Response(json.dumps(real), mimetype="application/json")

    return app


def _run(cursor: Any, step: Step, names: Names, real: dict[int, int]) -> None:
    settled = [settle(row, names, real) for row in step.rows]
    if step.many:
        cursor.executemany(step.sql, settled)
        return
    cursor.execute(step.sql, settled[0]) if settled else cursor.execute(step.sql)
    if cursor.description:
        found = cursor.fetchall()
        if step.new >= FIRST_ID:
            real[step.new] = found[0][0]


def inserts() -> Flask:
    """A bare route with two durable inserts."""
    app = Flask(__name__)
    mark = "?" if _is_sqlite() else "%s"
    insert = f"INSERT INTO bench_texts (body) VALUES ({mark})"

    @app.post("/hear/paddock")
    def hear() -> Response:
        body = request.get_data().decode()
        with _transaction() as driver:
            driver.execute(insert, (body,))
            driver.execute(insert, (body,))
        return Response()

    return app


@contextmanager
def _transaction() -> Iterator[Any]:
    """One transaction on this thread's connection; with SQLite one writer at a time, as the
    service has it."""
    driver = _driver()
    if not _is_sqlite():
        yield driver
        driver.commit()
        return
    with _queue:
        driver.execute("BEGIN IMMEDIATE")
        yield driver
        driver.commit()


def make_table(sqlite: bool) -> str:
    """The table of the two inserts."""
    kind = "integer" if sqlite else "bigserial"
    return f"CREATE TABLE bench_texts (id {kind} PRIMARY KEY, body text)"


def _is_sqlite() -> bool:
    return os.environ["BUSHPOST_DATABASE"].startswith("sqlite")


def _driver() -> Any:
    """This thread's own connection, set as the service sets its own."""
    if not hasattr(_own, "driver"):
        address = os.environ["BUSHPOST_DATABASE"]
        if _is_sqlite():
            import sqlite3

            path = address.removeprefix("sqlite:///")
            _own.driver = sqlite3.connect(path, timeout=20, isolation_level=None)
            _own.driver.execute("PRAGMA synchronous = FULL")
            _own.driver.execute("PRAGMA foreign_keys = ON")
        else:
            import psycopg

            _own.driver = psycopg.connect(address)
            _own.driver.prepare_threshold = 0  # Every plan is kept, as the service keeps its own.
            _own.driver.execute("SET TIME ZONE 'UTC'")
            _own.driver.commit()
    return _own.driver
