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
from pathlib import Path
from typing import Any

from flask import Flask, Response, request

from tests.bench.load_script import FIRST_ID, Names, Step, Text, settle

_own = threading.local()


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
        driver = _driver()
        cursor = driver.cursor()
        for step in scripts[script][place].steps:
            _run(cursor, step, names, real)
        driver.commit()
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
        driver = _driver()
        body = request.get_data().decode()
        driver.execute(insert, (body,))
        driver.execute(insert, (body,))
        driver.commit()
        return Response()

    return app


MAKE_TABLE = "CREATE TABLE bench_texts (id bigserial PRIMARY KEY, body text)"


def _is_sqlite() -> bool:
    return os.environ["BUSHPOST_DATABASE"].startswith("sqlite")


def _driver() -> Any:
    """This thread's own connection, set as the service sets its own."""
    if not hasattr(_own, "driver"):
        address = os.environ["BUSHPOST_DATABASE"]
        if _is_sqlite():
            import sqlite3

            _own.driver = sqlite3.connect(address.removeprefix("sqlite:///"), timeout=20)
            _own.driver.execute("PRAGMA synchronous = FULL")
            _own.driver.execute("PRAGMA foreign_keys = ON")
        else:
            import psycopg

            _own.driver = psycopg.connect(address)
            _own.driver.execute("SET TIME ZONE 'UTC'")
            _own.driver.commit()
    return _own.driver
