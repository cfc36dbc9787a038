"""What every answer carries, the small pages, the manual, and the desk's words."""

from __future__ import annotations

import ast
import re
import tomllib
from datetime import timedelta

import pytest

from bot.fieldwork.case import REASONS
from bot.service.intake import UNREADABLE_SENDER
from bot.service.outbox import UNDELIVERED
from bot.service.reviewing import FAULT
from bot.service.staff_door import STAFF_UNREAD
from bot.web import manual
from bot.web.words import WordsError, length_of, load_words
from tests.web.wires import DIALOG, ROOT, WORDS, client_of, make_wiring


@pytest.fixture(scope="module")
def client():
    return client_of(make_wiring())


@pytest.mark.parametrize("path", ["/", "/log-in", "/chat", "/manual/", "/nowhere", "/hear/nowhere"])
def test_every_answer_is_shut_in(client, path):
    headers = client.get(path).headers
    policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize(
    "template", sorted((ROOT / "bot/web/templates").rglob("*.html")), ids=lambda path: path.name
)
def test_no_template_holds_what_the_policy_forbids(template):
    text = template.read_text(encoding="utf-8")
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:|https?://", text)
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)
    assert "|safe" not in text


@pytest.mark.parametrize(
    "file", sorted((ROOT / "bot/web/static").iterdir()), ids=lambda path: path.name
)
def test_no_static_file_asks_another_host(file):
    text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
    assert "http" not in text
    assert "@import" not in text


def test_a_watchdog_is_answered():
    client = client_of(make_wiring())
    assert client.get("/healthz").status_code == 200
    assert client.get("/readyz").status_code == 200
    away = client_of(make_wiring(ready=lambda: False))
    assert (away.get("/healthz").status_code, away.get("/readyz").status_code) == (200, 503)


def test_a_missing_page_says_so(client):
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "There is no such page" in answer.get_data(as_text=True)


@pytest.mark.parametrize("name", ["../wiring", "..%2f..%2fREADME", "nope", "x.md"])
def test_the_manual_shows_its_own_pages_only(client, name):
    assert client.get(f"/manual/{name}").status_code == 404


def test_every_shipped_page_of_the_manual_is_shown(client):
    for name, title in manual.titles().items():
        answer = client.get(f"/manual/{name}")
        assert answer.status_code == 200
        assert title


def test_the_manual_runs_no_html(client, monkeypatch):
    monkeypatch.setattr(manual, "titles", lambda: {"spite": "Spite"})
    monkeypatch.setattr(
        manual, "_source", lambda name: "# Spite\n\n<script>x</script> [a](javascript:x)\n"
    )
    page = client.get("/manual/spite").get_data(as_text=True)
    assert "<script>x" not in page
    assert 'href="javascript' not in page


def reasons_in_code() -> set[str]:
    """Every literal reason by which the pure rooms and the service ask for a coordinator."""
    found: set[str] = set(REASONS)
    for room in ("talk", "service"):
        for file in (ROOT / "bot" / room).glob("*.py"):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.Call) or not node.args:
                    continue
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                first = node.args[0]
                if name in ("ask_coordinator", "AskCoordinator") and isinstance(
                    first, ast.Constant
                ):
                    found.add(first.value)
    return found


def reasons_in_dialogs() -> set[str]:
    """Every reason in advice.toml, and one for each question that nobody could read."""
    advice = tomllib.loads(DIALOG.files["advice.toml"])
    blocks = [b for part in advice.values() if isinstance(part, dict) for b in part.values()]
    reviews = {b["review"] for b in blocks if isinstance(b, dict) and b.get("review")}
    return reviews | {f"unread_{question.key}" for question in DIALOG.questions}


def test_every_reason_has_words():
    wanted = reasons_in_code() | reasons_in_dialogs()
    wanted |= {UNREADABLE_SENDER, UNDELIVERED, FAULT, STAFF_UNREAD}
    assert len(wanted) > 20
    assert sorted(wanted - set(WORDS.sections["reason"])) == []


def test_every_question_has_a_name():
    assert {q.key for q in DIALOG.questions} <= set(WORDS.sections["question"])


def test_a_code_without_words_is_shown_readable():
    assert WORDS.of("reason", "some_new_code") == "some new code"


@pytest.mark.parametrize("text", ["", "[reason]\n", "reason = 1", "["])
def test_words_that_are_missing_are_named(text):
    with pytest.raises(WordsError, match=r"desk\.toml"):
        load_words(text)


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(seconds=-5), "0 min"),
        (timedelta(minutes=89), "89 min"),
        (timedelta(minutes=90), "1 h"),
        (timedelta(hours=47), "47 h"),
        (timedelta(days=3, hours=5), "3 days"),
    ],
)
def test_lengths_of_time_in_words(span, words):
    assert length_of(span) == words
