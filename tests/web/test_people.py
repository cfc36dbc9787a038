"""Roles, invitations, log-ins that end, the audit, and a hunter's two wishes, through the pages."""

from __future__ import annotations

import json
import re
from datetime import timedelta

import pytest

from bot.service.sessions import INVITED_FOR
from tests.web.office import HUNTER, MATE, PASSWORD, RICH, post, token_of
from tests.web.test_accounts import log_in

NEW = "a hut under two old gums"


@pytest.fixture
def ada(office):
    return office.client("ada")


def invite(ada, role="viewer"):
    page = post(ada, "/desk/people/", "/desk/people/invite", role=role).get_data(as_text=True)
    return re.search(r"(/invited/[\w-]+)<", page).group(1)


@pytest.mark.parametrize("name", ["vera", "ines"])
@pytest.mark.parametrize("path", ["", "audit"])
def test_only_an_administrator_sees_who_may_come_in(office, name, path):
    client = office.client(name)
    assert client.get(f"/desk/people/{path}").status_code == 403
    token = token_of(client.get("/desk/"))
    for act in ("invite", "ines/remove", "erase", "export"):
        form = {"csrf_token": token, "role": "administrator", "hunter": HUNTER, "sure": "erase"}
        assert client.post(f"/desk/people/{act}", data=form).status_code == 403


def test_what_somebody_may_not_do_is_logged_without_his_name(office, caplog):
    assert office.client("vera").get("/desk/people/").status_code == 403
    (record,) = [r for r in caplog.records if r.msg == "not_allowed"]
    assert record.reason == "administrator"
    assert "vera" not in caplog.text


def test_an_invitation_makes_one_account_once(office, ada):
    link = invite(ada, "viewer")
    guest = office.client("")
    form = {"csrf_token": token_of(guest.get(link)), "name": "Otto", "password": "short"}
    refused = guest.post(link, data=form)
    assert refused.status_code == 400
    assert "The password must have" in refused.get_data(as_text=True)
    assert guest.post(link, data={**form, "password": NEW}).status_code == 303
    assert guest.get(link).status_code == 404
    assert guest.post(link, data={**form, "name": "else", "password": NEW}).status_code == 400
    assert log_in(guest, "otto", NEW).status_code == 302
    assert guest.get("/desk/").status_code == 200
    assert guest.get("/desk/enter").status_code == 403


def test_an_invitation_is_over_after_a_week(office, ada):
    link = invite(ada)
    office.clock.at += INVITED_FOR + timedelta(seconds=1)
    assert office.client("").get(link).status_code == 404


def test_a_log_in_that_is_ended_opens_nothing_more(office, ada):
    ines = office.client("ines")
    assert ines.get("/desk/").status_code == 200
    page = ada.get("/desk/people/").get_data(as_text=True)
    part = page[page.index(">ines ") : page.index(">vera ")]
    (session,) = re.findall(r'name="session" value="([^"]+)"', part)
    post(ada, "/desk/people/", "/desk/people/ines/end", session=session)
    assert ines.get("/desk/").status_code == 302
    assert ada.get("/desk/").status_code == 200


def test_logging_out_ends_a_copied_cookie_too(office):
    ines = office.client("ines")
    cookie = ines.get_cookie("bushpost").value
    post(ines, "/desk/", "/log-out")
    thief = office.client("")
    thief.set_cookie("bushpost", cookie)
    assert thief.get("/desk/").status_code == 302


def test_a_changed_role_counts_at_once_and_a_removed_account_is_out(office, ada):
    ines = office.client("ines")
    post(ada, "/desk/people/", "/desk/people/ines/role", role="viewer")
    assert ines.get("/desk/enter").status_code == 403
    post(ada, "/desk/people/", "/desk/people/ines/remove")
    assert ines.get("/desk/").status_code == 302
    assert log_in(ines, "ines", PASSWORD).status_code == 403


def test_somebody_must_be_left_who_lets_others_in(ada):
    for act, form in (("role", {"role": "viewer"}), ("remove", {})):
        answer = post(ada, "/desk/people/", f"/desk/people/ada/{act}", **form)
        assert answer.status_code == 400
    assert ada.get("/desk/people/").status_code == 200


def test_the_audit_says_who_saw_and_changed_what(office, ada):
    code = office.text(RICH)
    ines = office.client("ines")
    ines.get(f"/desk/find/{code}")
    ines.get("/desk/find/M2M-2MM")
    post(ines, f"/desk/find/{code}", f"/desk/find/{code}/write", turn=office.turn(code), body="Hi")
    page = ada.get(f"/desk/people/audit?about={code}").get_data(as_text=True)
    rows = [re.sub(r"<[^>]+>", "|", row) for row in re.findall(r"<tr>.*?</tr>", page)[1:]]
    assert ["wrote to the hunter" in rows[0], "opened a card" in rows[-1]] == [True, True]
    assert all("ines" in row and code in row for row in rows)
    assert "M2M-2MM" not in ada.get("/desk/people/audit").get_data(as_text=True)
    assert "logged in" in ada.get("/desk/people/audit?about=ines").get_data(as_text=True)


def test_a_hunter_gets_all_that_is_held(office, ada):
    code = office.text(RICH)
    office.text("someone else's boar", MATE)
    answer = post(ada, "/desk/people/", "/desk/people/export", hunter="0491 570 006")
    held = json.loads(answer.data)
    (hunter,) = held["hunters"]
    assert hunter["number"] == HUNTER
    assert [text["body"] for text in hunter["texts"]] == [RICH]
    assert hunter["finds"][0]["code"] == code
    assert hunter["texts_to_them"]
    assert "someone else" not in answer.get_data(as_text=True)
    assert post(ada, "/desk/people/", "/desk/people/export", hunter="M2M-2MM").status_code == 404


def test_erasing_wants_the_word(office, ada):
    office.text(RICH)
    for sure, status in (("", 400), ("yes", 400), ("erase", 200)):
        form = {"hunter": HUNTER, "sure": sure}
        assert post(ada, "/desk/people/", "/desk/people/erase", **form).status_code == status
    form = {"hunter": HUNTER, "sure": "erase"}
    assert post(ada, "/desk/people/", "/desk/people/erase", **form).status_code == 404


def test_who_may_not_is_told_in_plain_words(ines) -> None:
    answer = ines.get("/desk/people/")
    assert answer.status_code == 403
    assert "Your log-in does not open this page." in answer.get_data(as_text=True)
