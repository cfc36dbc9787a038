"""What the page on several processes tells an administrator to write down works as it stands."""

from __future__ import annotations

import configparser
import os
import re
import shlex
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import httpx
import pytest

import bot
from bot.__main__ import COMMANDS
from tests.commands.test_serving import OWN
from tests.faults.house import free_port

PAGE = (Path(bot.__file__).parent / "manual" / "scale.md").read_text("utf-8")
BLOCKS = dict(re.findall(r"## (\w+)\n[^#]*?```\n(.*?)```", PAGE, re.DOTALL))
APP = "bot.commands.wsgi:app()"


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """gunicorn under the page's configuration, but for the port and the folder of its database."""
    port = free_port()
    config = tmp_path / "gunicorn.py"
    text, changed = re.subn(r'bind = "[^"]*"', f'bind = "127.0.0.1:{port}"', BLOCKS["gunicorn"])
    assert changed == 1
    config.write_text(text)
    others = {name: v for name, v in os.environ.items() if not name.startswith("BUSHPOST_")}
    env = {**others, **OWN, "BUSHPOST_DATABASE": f"sqlite:///{tmp_path / 'bushpost.sqlite3'}"}
    command = [sys.executable, "-m", "gunicorn", "-c", str(config), "--log-level", "error", APP]
    with subprocess.Popen(command, env=env, stderr=subprocess.PIPE) as process:
        yield f"http://127.0.0.1:{port}"
        process.terminate()


def test_gunicorn_serves_under_the_pages_configuration(address):
    for _ in range(200):
        with suppress(httpx.TransportError):
            answer = httpx.get(f"{address}/readyz")
            break
        time.sleep(0.1)
    else:
        pytest.fail("gunicorn does not answer")
    assert answer.status_code == 200
    assert httpx.get(f"{address}/chat").status_code == 200


def test_the_unit_starts_what_there_is():
    unit = configparser.RawConfigParser(strict=False)
    unit.optionxform = str  # type: ignore[method-assign]
    unit.read_string(BLOCKS["systemd"])
    assert {"Unit", "Service", "Install"} <= set(unit)
    started = shlex.split(unit["Service"]["ExecStart"])
    assert Path(started[0]).name == "gunicorn"
    assert started[1:] == ["-c", "/etc/bushpost/gunicorn.py", APP]
    (worker,) = re.findall(r"^# the worker:\s+ExecStart=(.*)$", BLOCKS["systemd"], re.MULTILINE)
    program, command = worker.split()
    assert Path(program).name == "bushpost"
    assert command in COMMANDS


def test_the_containers_start_what_there_is():
    commands = re.findall(r"^ +command: (.*)$", BLOCKS["Containers"], re.MULTILINE)
    assert len(commands) == 2
    for program, *words in map(str.split, commands):
        assert (program == "bushpost" and words[0] in COMMANDS) or words[-1] == APP
