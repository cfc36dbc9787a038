"""Age on the find's card and its own page: plain questions, kept, and the window for a positive."""

from __future__ import annotations

import re

import pytest

from bot.fieldwork.custody import HUNTER, HandedOver, LabSaid
from bot.service.ages import ages_of
from bot.service.custody import keep_custody
from tests.web.office import Office, open_office, post
from tests.web.wires import NOW


@pytest.fixture
def office(tmp_path):
    with open_office(tmp_path) as opened:
        yield opened


@pytest.fixture
def code(office: Office) -> str:
    return office.text(
        "Boar with pus in the jaw gland, shot Sat 21 Nov 5pm, 36 52.2 S 147 09.1 E, head in freezer"
    )


def confirm(office: Office, code: str) -> None:
    given = HandedOver(NOW, "f1", code, HUNTER, "f1")
    said = LabSaid(NOW, "lab", code, "final", outcome="positive")
    with office.database.write() as connection:
        keep_custody(connection, code, [given, said], NOW)


def card(client, code: str) -> str:
    return client.get(f"/desk/find/{code}").get_data(as_text=True)


def told(office: Office, code: str):
    with office.database.read() as connection:
        return ages_of(connection, code)


def test_staff_answer_plain_questions_and_the_card_says_the_interval(office, code):
    client, page = office.client(), f"/desk/find/{code}/age"
    assert "Not known" in card(client, code)
    body = client.get(page).get_data(as_text=True)
    assert "which is the last big back tooth" in body
    answer = post(
        client, page, page, how="teeth", species="pig", **{"q-molars": "none", "q-front": "milk"}
    )
    assert answer.status_code == 303
    assert "0 to 6 months, by teeth" in card(client, code)
    assert [t.by for t in told(office, code)] == ["ines"]


def test_the_laboratory_overrides_and_all_that_was_said_stays(office, code):
    client, page = office.client(), f"/desk/find/{code}/age"
    post(client, page, page, how="teeth", species="pig", **{"q-molars": "none"})
    post(client, page, page, how="laboratory", species="pig", lower="36", upper="", method="")
    assert "From 36 months on, by the laboratory (cementum)" in card(client, code)
    body = client.get(page).get_data(as_text=True)
    assert "0 to 6 months, by teeth" in body
    post(client, page, page, how="withdrawn")
    assert "Not known" in card(client, code)
    assert len(told(office, code)) == 3


def test_only_a_positive_has_a_window(office, code):
    client, page = office.client(), f"/desk/find/{code}/age"
    post(client, page, page, how="teeth", species="pig", **{"q-molars": "none"})
    assert "was infected" not in card(client, code)
    confirm(office, code)
    shown = card(client, code)
    # Six months, the upper bound, before the day it died (trade rule: never the midpoint).
    assert "This animal was infected between 21 May 2026 and 21 Sep 2026" in shown
    assert "order of magnitude" in shown


def test_a_positive_without_age_has_an_open_window(office, code):
    confirm(office, code)
    assert "The age is not known, so neither is the time of infection" in card(
        office.client(), code
    )


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"how": "teeth", "species": "pig"}, "Nothing was answered"),
        (
            {"how": "teeth", "species": "pig", "q-molars": "none", "q-last_premolar": "two"},
            "do not go together",
        ),
        ({"how": "teeth", "species": "pig", "q-molars": "fifth"}, "none of the answers"),
        ({"how": "laboratory", "lower": "9", "upper": "3"}, "younger first"),
        ({"how": "laboratory", "lower": "many"}, "no number of months"),
        ({"how": "laboratory", "lower": "nan"}, "between 0 and"),
        ({"how": "guess"}, "by teeth or by the laboratory"),
    ],
)
def test_what_gives_no_age_is_said_and_not_kept(form, words, office, code):
    page = f"/desk/find/{code}/age"
    answer = post(office.client(), page, page, **form)
    assert answer.status_code == 400
    assert words in answer.get_data(as_text=True)
    assert told(office, code) == ()


def test_deer_are_asked_which(office):
    code = office.text("red stag, nothing odd, shot yesterday 5pm, 3 km NW of Brindle Hut")
    client = office.client()
    body = client.get(f"/desk/find/{code}/age").get_data(as_text=True)
    assert "Which is it?" in body
    assert "which" in client.get(f"/desk/find/{code}/age?species=red_deer").get_data(as_text=True)
    assert client.get(f"/desk/find/{code}/age?species=pig").status_code == 400


def test_a_viewer_neither_reads_nor_changes_it(office, code):
    page = f"/desk/find/{code}/age"
    client = office.client("vera")
    assert client.get(page).status_code == 403
    answer = post(client, "/desk/", page, how="teeth", species="pig", **{"q-molars": "none"})
    assert answer.status_code == 403


def test_nobody_is_let_in_without_a_log_in(office, code):
    assert office.client("").get(f"/desk/find/{code}/age").status_code == 302


def test_the_cards_link_leads_to_the_questions_and_then_corrects(office, code):
    client = office.client()
    link = re.search(r'<a href="([^"]+)">Say what the teeth show</a>', card(client, code))
    page = link.group(1)
    assert client.get(page).status_code == 200
    led = post(client, page, page, how="teeth", species="pig", **{"q-molars": "none"})
    assert led.location == f"/desk/find/{code}#age"
    assert f'<a href="{page}">Correct it</a>' in card(client, code)


def test_there_is_no_age_of_no_find(office):
    assert office.client().get("/desk/find/NOBODY/age").status_code == 404
