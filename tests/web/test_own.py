"""One's own log-in: the password, the second factor, and what is open where."""

from __future__ import annotations

import re
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.service import totp
from bot.service.audit import noted
from bot.service.second_factor import Factors
from bot.service.sessions import Doors
from bot.web.accounts import KEY, WAITS
from bot.web.app import create_app
from tests.web.office import PASSWORD, open_office, post, token_of
from tests.web.test_accounts import log_in

OWN = "/desk/own/"
NEW = "a hut under two old gums"
EASY = "ines tallow range"
"""A name and the programme's own words."""
STEP = timedelta(seconds=totp.PERIOD_S)


def own(client, act, **form):
    return post(client, OWN, OWN + act, **form)


def secret_of(page):
    text = re.search(r'class="code link-out">([A-Z2-7 ]+)<', page.get_data(as_text=True)).group(1)
    return totp.from_text(text.replace(" ", ""))


def code_of(office, secret):
    return totp.code_at(secret, totp.step_of(office.clock.at))


def seated(office, name):
    """A browser that is logged in already: a log-in costs a slow hash."""
    client = office.client("")
    with client.session_transaction() as kept:
        kept[KEY] = Doors(office.database).begin(name, "a browser", office.clock.at)
        kept["_user_id"], kept["_fresh"] = name, True
    return client


@pytest.fixture
def ines(office):
    return seated(office, "ines")


def set_up(office, name="ines"):
    """A second factor for somebody, without the pages: its secret and the codes on paper."""
    factors, now = Factors(office.database), office.clock.at
    secret = factors.propose(name, now)
    paper = factors.confirm(name, code_of(office, secret), now)
    assert paper
    office.clock.at += STEP
    return secret, paper


def give_code(client, code, then=""):
    page = client.get("/log-in/code")
    form = {"csrf_token": token_of(page), "code": code, "then": then}
    return client.post("/log-in/code", data=form)


def refused(answer, status, words):
    return answer.status_code == status and words in answer.get_data(as_text=True)


# ----------------------------------------------------------------------------------- password


def test_a_changed_password_ends_the_other_log_ins(office, ines):
    other = seated(office, "ines")
    page = own(ines, "password", password=PASSWORD, new=NEW, again=NEW)
    assert refused(page, 200, "The password is changed")
    assert (ines.get(OWN).status_code, other.get(OWN).status_code) == (200, 302)
    assert log_in(office.client(""), "ines", PASSWORD).status_code == 403
    assert log_in(office.client(""), "ines", NEW).status_code == 302


def test_the_key_of_a_log_in_that_changed_it_is_new(office, ines):
    cookie = ines.get_cookie("bushpost").value
    own(ines, "password", password=PASSWORD, new=NEW, again=NEW)
    thief = office.client("")
    thief.set_cookie("bushpost", cookie)
    assert thief.get("/desk/").status_code == 302


@pytest.mark.parametrize(
    ("form", "status", "words"),
    [
        ({"password": "guess", "new": NEW, "again": NEW}, 403, "not your password"),
        ({"password": PASSWORD, "new": NEW, "again": NEW + "s"}, 400, "differ"),
        ({"password": PASSWORD, "new": EASY, "again": EASY}, 400, "tried first"),
        ({"password": PASSWORD, "new": "short", "again": "short"}, 400, "12 to 256"),
        ({"password": PASSWORD, "new": "x" * 257, "again": "x" * 257}, 400, "12 to 256"),
    ],
)
def test_what_does_not_fit_changes_nothing(office, ines, form, status, words):
    assert refused(own(ines, "password", **form), status, words)
    assert log_in(office.client(""), "ines", PASSWORD).status_code == 302


def test_nothing_changes_without_the_password(office, ines):
    """And whoever sits at a screen that was left open may not guess for long."""
    for act in ("second", "second/away", "codes"):
        assert own(ines, act, password="guess").status_code == 403
    assert own(ines, "second", password="guess").status_code == 429
    assert own(ines, "second", password=PASSWORD).status_code == 429
    assert Factors(office.database).proposed("ines") is None


def test_one_ends_ones_own_log_ins_and_nobody_elses(office, ines):
    other, third, vera = (seated(office, name) for name in ("ines", "ines", "vera"))
    page = ines.get(OWN).get_data(as_text=True)
    first = re.findall(r'name="session" value="([^"]+)"', page)[0]
    own(vera, "end", session=first, password=PASSWORD)
    assert own(ines, "end", session=first, password="guess").status_code == 403
    assert other.get("/desk/").status_code == 200
    own(ines, "end", session=first, password=PASSWORD)
    assert sorted([other.get("/desk/").status_code, third.get("/desk/").status_code]) == [200, 302]
    own(ines, "end", password=PASSWORD)
    assert [c.get("/desk/").status_code for c in (ines, other, third, vera)] == [200, 302, 302, 200]


# ------------------------------------------------------------------------------ second factor


def test_it_is_shown_as_a_picture_and_as_text(ines):
    page = own(ines, "second", password=PASSWORD)
    text = page.get_data(as_text=True)
    assert "<svg" in text
    assert "style=" not in text
    assert "otpauth://totp/" in text
    assert f"secret={totp.as_text(secret_of(page))}&amp;" in text


def test_it_is_asked_for_once_its_first_code_is_typed(office, ines):
    secret = secret_of(own(ines, "second", password=PASSWORD))
    page = own(ines, "second/confirm", code=code_of(office, secret)).get_data(as_text=True)
    paper = re.findall(r'link-out">([a-z2-7-]+)<', page)
    office.clock.at += STEP
    factors = Factors(office.database)
    assert factors.since("ines")
    for code in (*paper, code_of(office, secret)):
        assert factors.check("ines", code, office.clock.at)
    assert ines.post(f"{OWN}second/confirm", data={"csrf_token": "x"}).status_code == 400
    assert own(ines, "second/confirm", code="000000").location == OWN
    acts = [line.act for line in noted(office.database, "ines")]
    assert {"own.second", "own.confirm"} <= set(acts)


def test_a_wrong_first_code_leaves_the_password_enough(office, ines):
    page = own(ines, "second", password=PASSWORD)
    again = own(ines, "second/confirm", code="000000")
    assert refused(again, 400, "not the code of now")
    assert secret_of(again) == secret_of(page)
    assert log_in(office.client(""), "ines").status_code == 302


def test_after_the_password_the_code_is_asked_for(office, ines):
    secret, paper = set_up(office)
    client = office.client("")
    assert log_in(client, "ines", then="/desk/season/").location == (
        "/log-in/code?then=/desk/season/"
    )
    assert client.get("/desk/").status_code == 302
    assert refused(give_code(client, "000000"), 403, "not good, or was used")
    assert client.get("/desk/").status_code == 302
    answer = give_code(client, code_of(office, secret), "/desk/season/")
    assert answer.location == "/desk/season/"
    assert client.get("/desk/").status_code == 200
    acts = [line.act for line in noted(office.database, "ines")]
    assert acts[:2] == ["second_step.answer", "second_step.failed"]
    thief = office.client("")
    log_in(thief, "ines")
    assert give_code(thief, code_of(office, secret)).status_code == 403
    assert give_code(thief, paper[0]).location == "/desk/"


def test_a_code_leads_nowhere_else(office, ines):
    secret, _ = set_up(office)
    client = office.client("")
    log_in(client, "ines")
    assert give_code(client, code_of(office, secret), "//elsewhere.example/").location == "/desk/"


def test_without_the_password_no_code_is_asked_for(office, ines):
    set_up(office)
    client = office.client("")
    assert client.get("/log-in/code").location == "/log-in"
    form = {"csrf_token": token_of(client.get("/log-in")), "code": "000000"}
    assert client.post("/log-in/code", data=form).location == "/log-in"


def test_five_minutes_after_the_password_it_begins_anew(office, ines):
    secret, _ = set_up(office)
    client = office.client("")
    log_in(client, "ines")
    token = token_of(client.get("/log-in/code"))
    office.clock.at += timedelta(minutes=5, seconds=1)
    form = {"csrf_token": token, "code": code_of(office, secret)}
    assert client.post("/log-in/code", data=form).location == "/log-in"
    assert client.get("/desk/").status_code == 302


def test_whoever_knows_the_password_cannot_guess_the_code_from_many_places(office, ines):
    secret, _ = set_up(office)
    statuses = []
    for number in range(5):
        client = office.client("")
        with client.session_transaction() as kept:
            kept[WAITS] = {"name": "ines", "at": office.clock.at.isoformat()}
        there = {"REMOTE_ADDR": f"192.0.2.{number}"}
        form = {"csrf_token": token_of(client.get("/log-in/code")), "code": "000000"}
        statuses.append(client.post("/log-in/code", data=form, environ_base=there).status_code)
    assert statuses == [403, 403, 403, 429, 429]
    office.clock.at += timedelta(seconds=3)
    assert give_code(client, code_of(office, secret)).status_code == 302


def test_new_codes_on_paper_and_taking_it_away(office, ines):
    _, paper = set_up(office)
    page = own(ines, "codes", password=PASSWORD).get_data(as_text=True)
    new = re.findall(r'link-out">([a-z2-7-]+)<', page)
    assert (len(new), set(new) & set(paper)) == (8, set())
    assert "8 of your codes on paper" in ines.get(OWN).get_data(as_text=True)
    assert refused(own(ines, "second", password=PASSWORD), 400, "take it away first")
    assert refused(own(ines, "second/away", password=PASSWORD), 200, "enough again")
    assert log_in(office.client(""), "ines").location == "/desk/"


def test_an_administrator_helps_whoever_has_lost_both(office, ines):
    set_up(office)
    people = "/desk/people/"
    ada = seated(office, "ada")
    assert "Has a second factor since" in ada.get(people).get_data(as_text=True)
    assert post(ada, people, f"{people}ines/second").status_code == 303
    assert log_in(office.client(""), "ines").location == "/desk/"


def test_a_new_account_of_an_old_name_has_no_second_factor(office, ines):
    set_up(office)
    ada = seated(office, "ada")
    post(ada, "/desk/people/", "/desk/people/ines/remove")
    assert Factors(office.database).since("ines") is None


@contextmanager
def demanding(tmp_path, who):
    """An office whose service makes the second factor a must."""
    with open_office(tmp_path) as office:
        wiring = office.app.extensions["bushpost"]
        settings = replace(wiring.settings, second_factor=who)
        office.app = create_app(replace(wiring, settings=settings))
        yield office


@pytest.mark.parametrize(
    ("who", "bound", "free"), [("administrators", "ada", "ines"), ("everybody", "vera", "")]
)
def test_where_it_is_a_must_nothing_else_opens_before(tmp_path, who, bound, free):
    with demanding(tmp_path, who) as office:
        client = seated(office, bound)
        for path in ("/desk/", "/desk/season/", "/desk/map/", "/desk/people/"):
            assert client.get(path).location == OWN
        assert "needs a second factor" in client.get(OWN).get_data(as_text=True)
        set_up(office, bound)
        assert client.get("/desk/").status_code == 200
        assert not free or seated(office, free).get("/desk/").status_code == 200
