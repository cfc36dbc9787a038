"""The demo as a person runs it: a process of its own, real HTTP, every talk as it is written."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

import bot
from bot.__main__ import COMMANDS, main
from bot.shipped import shipped

TALKS = shipped("demo_conversations")
ENV = {**os.environ, "PYTHONPATH": str(Path(bot.__file__).parents[1]), "PYTHONUNBUFFERED": "1"}


def demo(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    order = [sys.executable, "-m", "bot", "demo", *words]
    return subprocess.run(order, cwd=cwd, env=ENV, capture_output=True, text=True, timeout=240)


def test_all_talks_go_as_written_over_http_and_the_demo_ends(tmp_path: Path):
    ended = demo("--once", "--port", "0", cwd=tmp_path)
    assert ended.returncode == 0, ended.stdout[-2000:] + ended.stderr
    count = len(list(TALKS.glob("*.txt")))
    assert f"{count} of {count} talks went as written." in ended.stdout
    assert re.search(r"handed in by Nell Abbery, \d+\.\d km", ended.stdout)
    assert "AT ONCE Blisters" in ended.stdout
    assert "\x1b[" not in ended.stdout, "colours are for terminals"
    assert list(tmp_path.iterdir()) == [], "the demo leaves nothing behind"


def test_a_busy_port_is_met_by_another_one(tmp_path: Path):
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        port = busy.getsockname()[1]
        file = str(TALKS / "11-a-clean-head.txt")
        ended = demo("--once", "--port", str(port), file, cwd=tmp_path)
    assert ended.returncode == 0
    assert f"Port {port} is busy; taking " in ended.stdout


def test_a_talk_that_goes_astray_is_said_and_gives_exit_code_1(tmp_path: Path, capsys):
    file = tmp_path / "talk.txt"
    text = (TALKS / "11-a-clean-head.txt").read_text()
    file.write_text(text.replace("find: clean", "find: suspect"))
    assert main(["demo", "--once", "--port", "0", str(file)]) == 1
    assert "NOT AS WRITTEN: find: suspect, but it is: clean" in capsys.readouterr().out


def test_a_missing_file_is_one_clear_line(capsys):
    assert main(["demo", "--once", "nowhere.txt"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("bushpost demo: ")
    assert len(said.splitlines()) == 1


def test_it_stays_up_and_says_where_to_look(tmp_path: Path):
    order = [sys.executable, "-m", "bot", "demo", "--port", "0", str(TALKS / "11-a-clean-head.txt")]
    with subprocess.Popen(
        order, cwd=tmp_path, env=ENV, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        try:
            said = []
            assert running.stdout is not None
            for row in running.stdout:
                said.append(row)
                if "Its clock says" in row:
                    break
            shown = "".join(said)
            url = re.search(r"(http://127\.0\.0\.1:\d+)/chat", shown)
            assert url, shown
            assert httpx.get(f"{url[1]}/chat", trust_env=False).status_code == 200
            assert httpx.get(f"{url[1]}/readyz", trust_env=False).status_code == 200
            login = re.search(r"/desk\s+the coordinator's desk: (\w+) / (\S+)", shown)
            assert login
            assert log_in(url[1], *login.groups()) == 200
            assert " chat" in shown.split("another terminal")[1]
        finally:
            running.terminate()


def log_in(url: str, name: str, password: str) -> int:
    """Log in as a browser does; the desk's own status afterwards."""
    with httpx.Client(base_url=url, trust_env=False, follow_redirects=True) as browser:
        page = browser.get("/log-in").text
        token = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
        assert token, page
        form = {"name": name, "password": password, "csrf_token": token[1]}
        browser.post("/log-in", data=form, headers={"referer": f"{url}/log-in"})
        return browser.get("/desk/", follow_redirects=False).status_code


@pytest.mark.parametrize("word", COMMANDS)
def test_help_is_there(word: str, capsys):
    with pytest.raises(SystemExit) as ended:
        main([word, "--help"])
    assert ended.value.code == 0
    assert word in capsys.readouterr().out
