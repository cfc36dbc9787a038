"""What one address may do, and what is never refused: RFC 6585 section 4 has 429, RFC 9110
section 10.2.3 Retry-After in seconds, RFC 6177 the /64 of one IPv6 subscriber."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import event

from bot.settings import Limits
from bot.web.throttle import CHAT, PROOFS, Throttle, paces
from bot.web.wiring import Settings
from tests.gateways.asking import OLD_SECRET, signed
from tests.web.office import open_office
from tests.web.test_accounts import log_in, token
from tests.web.test_webhook import BARE, post
from tests.web.wires import NOW, Clock, client_of, make_wiring

FEW = Limits(proofs=2, log_ins=2, links=2, chat=2)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def wiring(clock):
    settings = Settings("for tests and nothing else " * 2, secure_cookies=False, limits=FEW)
    return make_wiring(settings=settings, now=clock)


@pytest.fixture
def client(wiring):
    return client_of(wiring)


def forged(client):
    return post(client, headers=dict(signed(BARE, OLD_SECRET).headers))


def test_bad_proofs_are_shut_out_and_true_texts_never(client, wiring):
    answers = [forged(client) for _ in range(4)]
    assert [a.status_code for a in answers] == [403, 403, 429, 429]
    assert (answers[3].data, answers[3].headers["Retry-After"]) == (b"", "60")
    assert {post(client).status_code for _ in range(20)} == {200}
    assert len(wiring.intake.heard) == 1


def test_who_is_held_off_is_logged_without_his_address(client, caplog):
    for _ in range(3):
        forged(client)
    told = [(r.msg, r.reason) for r in caplog.records if r.msg != "bad_proof"]
    assert told == [("held_off", "proofs")]
    assert "127.0.0.1" not in caplog.text


def test_the_window_ends(client, clock):
    assert [forged(client).status_code for _ in range(3)] == [403, 403, 429]
    clock.wait(61)
    assert forged(client).status_code == 403


def test_another_address_is_not_shut(client):
    for _ in range(3):
        forged(client)
    head = dict(signed(BARE, OLD_SECRET).headers)
    other = {"REMOTE_ADDR": "192.0.2.7"}
    assert (
        client.post("/hear/paddock", data=BARE, headers=head, environ_base=other).status_code == 403
    )


def test_failed_log_ins_count_by_address_whatever_the_names(client, clock):
    assert [log_in(client, f"guess{n}", "guess").status_code for n in range(3)] == [403, 403, 429]
    shut = log_in(client)
    assert (shut.status_code, shut.headers["Retry-After"]) == (429, "3600")
    assert "Wait 3600 seconds" in shut.get_data(as_text=True)
    clock.wait(3601)
    assert log_in(client).status_code == 302


@pytest.mark.parametrize("path", ["/job/{}", "/specimen/{}", "/round/{}"])
def test_links_that_open_nothing_are_shut_out(path, tmp_path):
    with open_office(tmp_path) as place:
        client = place.app.test_client()
        statuses = [client.get(path.format(f"forged{n}")).status_code for n in range(62)]
        assert statuses == [404] * 60 + [429] * 2
        last = client.get(path.format("forged"))
        assert last.headers["Retry-After"] == "60"
        assert "Wait 60 seconds" in last.get_data(as_text=True)


def test_chat_texts_of_one_browser_wait_and_keep_their_words(tmp_path):
    with open_office(tmp_path) as place:
        client = place.app.test_client()
        form = {"csrf_token": token(client.get("/chat")), "text": "boar with lumps"}
        assert {client.post("/chat", data=form).status_code for _ in range(30)} == {303}
        shut = client.post("/chat", data=form)
        assert (shut.status_code, shut.headers["Retry-After"]) == (429, "60")
        assert "boar with lumps</textarea>" in shut.get_data(as_text=True)
        other = place.app.test_client()
        form = {"csrf_token": token(other.get("/chat")), "text": "boar with lumps"}
        assert other.post("/chat", data=form).status_code == 303


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("2001:db8:1:2::3", "2001:db8:1:2:ffff::4", True),
        ("2001:db8:1:2::3", "2001:db8:1:3::3", False),
        ("192.0.2.1", "192.0.2.2", False),
    ],
)
def test_an_address_is_a_subscribers(client, one, other, same):
    def forge(remote):
        head = dict(signed(BARE, OLD_SECRET).headers)
        there = {"REMOTE_ADDR": remote}
        return client.post("/hear/paddock", data=BARE, headers=head, environ_base=there).status_code

    assert [forge(one) for _ in range(3)] == [403, 403, 429]
    assert forge(other) == (429 if same else 403)


def test_nought_is_no_limit():
    throttle = Throttle(paces(Limits(0, 0, 0, 0)))
    assert {throttle.take(PROOFS, "a", NOW) for _ in range(1000)} == {timedelta(0)}


def test_two_apps_on_one_database_count_together(tmp_path):
    """Log-ins by name and by address, and links that open nothing; forged texts not, which must
    cost no question to the database."""
    settings = Settings("for tests and nothing else " * 2, secure_cookies=False, limits=FEW)
    with open_office(tmp_path) as place:
        wiring = replace(place.app.extensions["bushpost"], settings=settings)
        first, second = client_of(wiring), client_of(wiring)
        assert [log_in(c, "guess", "guess").status_code for c in (first, second)] == [403, 403]
        assert [log_in(c).status_code for c in (first, second)] == [429, 429]
        links = [client.get("/job/forged").status_code for client in (first, second, first, second)]
        assert links == [404, 404, 429, 429]
        with counted_statements(place.database) as statements:
            assert [forged(second).status_code for _ in range(3)] == [403, 403, 429]
            assert forged(first).status_code == 403
        assert statements == []


def test_whoever_goes_on_trying_costs_no_more_questions(tmp_path):
    with open_office(tmp_path) as place:
        client = place.app.test_client()
        for number in range(61):
            client.get(f"/job/forged{number}")
        with counted_statements(place.database) as statements:
            assert client.get("/job/forged").status_code == 429
        assert statements == []


@contextmanager
def counted_statements(database):
    seen = []

    def note(connection, cursor, statement, *rest):
        seen.append(statement)

    event.listen(database.engine, "before_cursor_execute", note)
    yield seen
    event.remove(database.engine, "before_cursor_execute", note)


@given(st.lists(st.integers(0, 200), max_size=40))
def test_no_window_ever_takes_more_and_none_waits_longer_than_its_span(steps):
    throttle, at, taken = Throttle(paces(Limits(chat=1))), NOW, []
    for step in steps:
        at += timedelta(seconds=step % 50)
        wait = throttle.wait(CHAT, "a", at)
        assert throttle.take(CHAT, "a", at) == wait
        assert timedelta(0) <= wait <= timedelta(minutes=1)
        if not wait:
            taken.append(at)
    for start in taken:
        assert sum(start <= t < start + timedelta(minutes=1) for t in taken) <= 20
