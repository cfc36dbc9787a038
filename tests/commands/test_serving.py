"""serve, deliver and add-coordinator as commands: what they refuse, and what they do for real."""

from __future__ import annotations

import io
import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest

from bot.__main__ import main
from bot.commands.opening import DEMO_SECRETS, KEY_NAME, with_demo_secrets
from bot.service.accounts import Accounts
from bot.service.database import open_database

OWN = {
    KEY_NAME: "a key of one's own, long enough for any signature",
    "BUSHPOST_PADDOCK_SECRET": "whsec_" + "QUJDREVGR0hJSktMTU5PUFFSU1RVVldY",
}


@pytest.fixture
def database(tmp_path) -> str:
    return f"sqlite:///{tmp_path / 'bushpost.sqlite3'}"


@pytest.fixture
def bare(monkeypatch):
    """No BUSHPOST_ variable is set."""
    for name in [name for name in os.environ if name.startswith("BUSHPOST_")]:
        monkeypatch.delenv(name)
    return monkeypatch


def test_the_demo_secrets_stand_in_for_what_is_not_set(capsys):
    full = with_demo_secrets({}, DEMO_SECRETS, public=False)
    assert full == DEMO_SECRETS
    assert "for this machine only" in capsys.readouterr().err


@pytest.mark.parametrize("missing", list(DEMO_SECRETS))
@pytest.mark.parametrize("how", ["not set", "the demo's"])
def test_public_refuses_the_demos_secrets(missing, how):
    env = {**OWN, missing: DEMO_SECRETS[missing] if how == "the demo's" else ""}
    with pytest.raises(ValueError, match=missing):
        with_demo_secrets(env, DEMO_SECRETS, public=True)


def test_public_takes_secrets_of_ones_own(capsys):
    assert with_demo_secrets(OWN, DEMO_SECRETS, public=True) == OWN
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--public"], "--public needs secrets of your own"),
        (["--host", "0.0.0.0"], "say --public if that is meant"),
        (["--host", "192.0.2.7"], "say --public if that is meant"),
        (["--port", "70000"], "is not a port"),
        (["--programme", "/nowhere/at/all"], "missing from the folder"),
        (["--database", "mysql://x/y"], "no such kind of database"),
    ],
)
def test_serve_refuses_in_one_line(bare, database, capsys, arguments, words):
    if "--database" not in arguments:
        arguments = [*arguments, "--database", database]
    assert main(["serve", *arguments]) == 2
    last = capsys.readouterr().err.strip().splitlines()[-1]
    assert last.startswith("bushpost serve: ")
    assert words in last


def test_serve_says_that_a_port_is_taken(bare, database, capsys):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        assert main(["serve", "--database", database, "--port", str(port)]) == 2
    assert f"cannot listen on 127.0.0.1:{port}" in capsys.readouterr().err


def test_a_password_comes_by_standard_input_only(database, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO("brindle hut at dusk\n"))
    assert main(["add-coordinator", "Ines", "--database", database]) == 0
    assert "ines may log in now" in capsys.readouterr().out
    accounts = Accounts(open_database(database))
    assert accounts.check_password("ines", "brindle hut at dusk")
    assert accounts.check_password("ines", "brindle hut at dawn") is None


@pytest.mark.parametrize("password", ["", "short"])
def test_a_weak_password_is_refused_in_one_line(database, monkeypatch, capsys, password):
    monkeypatch.setattr("sys.stdin", io.StringIO(password + "\n"))
    assert main(["add-coordinator", "ines", "--database", database]) == 2
    assert capsys.readouterr().err.startswith("bushpost add-coordinator: the password")


def test_deliver_once_ends(bare, database, capsys):
    assert main(["deliver", "--once", "--database", database]) == 0
    assert capsys.readouterr().out == "0 done\n"


def test_serve_answers_and_ends_when_told(database):
    env = {k: v for k, v in os.environ.items() if not k.startswith("BUSHPOST_")}
    root = Path(__file__).parents[2]
    command = [sys.executable, "-m", "bot", "serve", "--database", database, "--port", "0"]
    with subprocess.Popen(
        command, cwd=root, env=env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as server:
        try:
            address = re.search(r"http://[^:]+:\d+", server.stdout.readline()).group()
            assert httpx.get(f"{address}/readyz").status_code == 200
            assert httpx.get(f"{address}/desk/").status_code == 302
            assert httpx.post(f"{address}/hear/paddock", content=b"{}").status_code == 403
        finally:
            server.send_signal(signal.SIGINT)
            started = time.monotonic()
            server.wait(timeout=20)
    assert server.returncode in (0, 130)
    assert time.monotonic() - started < 20
