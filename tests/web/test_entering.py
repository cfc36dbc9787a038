"""Finds that are told at the desk, joined and split, through the pages."""

from __future__ import annotations

import re

from bot.reading.codes import find_codes
from bot.service.desk import Desk
from tests.web.office import MATE, RICH, post, token_of


def enter(client, **form):
    return post(client, "/desk/enter", "/desk/enter", **{"how": "telephone", "words": RICH, **form})


def test_a_telephone_call_becomes_a_card_with_what_to_say(office, ines):
    answer = enter(ines, entry="one")
    assert answer.status_code == 303
    page = ines.get(answer.location).get_data(as_text=True)
    assert "to be said aloud" in page
    assert "somebody at the desk" in page
    assert 'id="body"' not in page
    again = enter(ines, entry="one")
    assert again.location == answer.location


def test_a_crate_goes_in_row_by_row(office, ines):
    sheet = ines.get("/desk/codes").get_data(as_text=True)
    codes = re.findall(r'<li class="code">([^<]+)</li>', sheet)
    assert len(codes) > 20
    assert all(find_codes(code) == (code,) for code in codes)
    shared = "2 km N of Brindle Hut, yesterday"
    for code, animal in zip(codes[:3], ("boar", "sow", "hind"), strict=False):
        words = f"{animal}, lump in the jaw"
        answer = enter(ines, how="crate", code=code, words=words, shared=shared)
        page = ines.get(answer.location).get_data(as_text=True)
        assert f"{code}</a> is entered" in page
        assert f'name="shared" autocomplete="off" maxlength="1500" value="{shared}"' in page
        talk = Desk(office.database).find_card(code).conversation
        assert {"kill_place", "when", "species", "seen"} <= set(talk.answers)


def test_what_is_refused_keeps_the_words(office, ines):
    answer = enter(ines, code="K7R-4T9X", words="boar <b>x</b>")
    page = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "is no code" in page
    assert "boar &lt;b&gt;x&lt;/b&gt;" in page
    assert enter(ines, how="pigeon").status_code == 400
    assert enter(ines, words="  ").status_code == 400


def test_a_viewer_enters_nothing(office):
    vera = office.client("vera")
    assert vera.get("/desk/enter").status_code == 403
    token = token_of(vera.get("/desk/"))
    form = {"csrf_token": token, "how": "telephone", "words": RICH}
    assert vera.post("/desk/enter", data=form).status_code == 403


def test_two_talks_are_joined_and_each_names_the_other(office, ines):
    one, two = office.text(RICH), office.text("lump in the jaw of a boar", MATE)
    card = f"/desk/find/{one}"
    join = {"turn": office.turn(one), "into": two.lower()}
    assert post(ines, card, f"{card}/join", **{**join, "turn": 0}).status_code == 409
    assert post(ines, card, f"{card}/join", **join).location == f"/desk/find/{two}"
    assert f'href="/desk/find/{two}"' in ines.get(card).get_data(as_text=True)
    assert f'href="/desk/find/{one}"' in ines.get(f"/desk/find/{two}").get_data(as_text=True)
    three = office.text("lump in the jaw of a sow", "+61491570156")
    bad = {"turn": office.turn(three), "into": one}
    assert post(ines, card, f"/desk/find/{three}/join", **bad).status_code == 400


def test_a_second_animal_is_split_off(office, ines):
    one = office.text(RICH)
    card = f"/desk/find/{one}"
    form = {
        "turn": office.turn(one),
        "words": "sow, lumps in the jaw",
        "keep": ["when", "kill_place"],
    }
    answer = post(ines, card, f"{card}/split", **form)
    assert answer.status_code == 303
    page = ines.get(answer.location).get_data(as_text=True)
    assert "Split from" in page
    assert "set by ines" in page
    form = {**form, "turn": office.turn(one), "words": "qwertz"}
    assert post(ines, card, f"{card}/split", **form).status_code == 400
