"""The log-in: what it lets in, where it leads, and what failures cost."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from bot.web.accounts import delay_after
from tests.web.wires import Clock, client_of, make_wiring

RIGHT = "brindle hut at dusk"


def token(page) -> str:
    return re.search(r'name="csrf_token" value="([^"]+)"', page.get_data(as_text=True)).group(1)


def log_in(client, name="ines", password=RIGHT, then=""):
    page = client.get("/log-in")
    form = {"csrf_token": token(page), "name": name, "password": password, "then": then}
    return client.post("/log-in", data=form)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def client(clock):
    return client_of(make_wiring(now=clock))


def test_the_desk_is_behind_the_log_in(client):
    answer = client.get("/desk/find/K7R-4TR")
    assert answer.status_code == 302
    assert answer.location == "/log-in?next=%2Fdesk%2Ffind%2FK7R-4TR"


@pytest.mark.parametrize(
    "path",
    ["correct", "write", "take-over", "hand-back", "send", "close"],
)
def test_nothing_is_changed_without_a_log_in(path):
    wiring = make_wiring()
    client = client_of(wiring)
    form = {"csrf_token": token(client.get("/log-in")), "turn": 3, "words": "x", "body": "x"}
    assert client.post(f"/desk/find/K7R-4TR/{path}", data=form).status_code == 302
    assert wiring.intake.told == []


def test_the_right_password_leads_to_the_desk(client):
    assert log_in(client).location == "/desk/"


def test_a_name_may_be_written_in_any_case(client):
    assert log_in(client, " INES ").status_code == 302


@pytest.mark.parametrize(
    ("then", "location"),
    [
        ("/desk/find/K7R-4TR", "/desk/find/K7R-4TR"),
        ("https://elsewhere.example/", "/desk/"),
        ("//elsewhere.example/", "/desk/"),
        ("/\\elsewhere.example/", "/desk/"),
        ("/\t/elsewhere.example/", "/desk/"),
        ("javascript:alert(1)", "/desk/"),
    ],
)
def test_a_log_in_never_leads_elsewhere(client, then, location):
    assert log_in(client, then=then).location == location


def test_a_wrong_password_is_told_and_counted(client, clock):
    answers = [log_in(client, password="guess").status_code for _ in range(5)]
    assert answers == [403, 403, 403, 429, 429]
    assert log_in(client).status_code == 429
    clock.wait(2.1)
    assert log_in(client).status_code == 302


def test_one_name_shut_leaves_the_others_open(client):
    for _ in range(4):
        log_in(client, "nobody", "guess")
    assert log_in(client).status_code == 302


def test_the_delay_grows_to_a_quarter_of_an_hour():
    delays = [delay_after(count).total_seconds() for count in range(40)]
    assert delays[:6] == [0, 0, 0, 2, 4, 8]
    assert delays == sorted(delays)
    assert delays[-1] == 900


def test_a_day_without_a_failure_forgives(client, clock):
    for _ in range(4):
        log_in(client, password="guess")
    failures = client.application.extensions["bushpost_failures"]
    assert failures.shut_for("ines 127.0.0.1", clock.at) == timedelta(seconds=2)
    clock.wait(24 * 3600 + 1)
    assert [log_in(client, password="guess").status_code for _ in range(3)] == [403] * 3


@pytest.mark.parametrize("sent", [{}, {"csrf_token": "made up"}])
def test_without_its_token_a_form_does_nothing(client, sent):
    answer = client.post("/log-in", data={"name": "ines", "password": RIGHT, **sent})
    assert answer.status_code == 400
    assert client.get("/desk/").status_code == 302


def test_logging_out_ends_it(client):
    log_in(client)
    page = client.get("/log-in")
    assert client.post("/log-out", data={"csrf_token": token(page)}).status_code == 302
    assert client.get("/desk/").status_code == 302


def test_an_account_that_is_gone_is_logged_out():
    wiring = make_wiring()
    client = client_of(wiring)
    log_in(client)
    object.__setattr__(wiring, "accounts", type("Empty", (), {"account": lambda s, n: None})())
    assert client.get("/desk/list").status_code == 302


def test_the_cookie_is_shut_in():
    client = client_of(make_wiring())
    cookie = client.get("/log-in").headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    from bot.web.wiring import Settings

    safe = client_of(make_wiring(settings=Settings("another key for tests alone " * 2)))
    assert "Secure" in safe.get("/log-in").headers["Set-Cookie"]


def test_over_https_the_cookie_is_this_hosts_and_https_stays():
    """__Host- is RFC 6265bis section 4.1.3.2, Strict-Transport-Security RFC 6797; both are asked
    for by OWASP ASVS 5.0, 3.3.3 and 3.4.1."""
    from bot.web.wiring import Settings

    page = client_of(make_wiring(settings=Settings("a key for tests alone " * 2))).get("/log-in")
    cookie = page.headers["Set-Cookie"]
    assert cookie.startswith("__Host-bushpost=")
    assert "Path=/" in cookie
    assert "Domain" not in cookie
    assert page.headers["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"
    assert "Strict-Transport-Security" not in client_of(make_wiring()).get("/log-in").headers


def test_failed_log_ins_are_logged_without_the_name(client, caplog):
    for _ in range(4):
        log_in(client, "nobody@home", "guess")
    told = [record.msg for record in caplog.records]
    assert told == ["log_in_failed"] * 3 + ["log_in_shut"]
    assert "nobody@home" not in caplog.text
