"""What a coordinator does with one find, on a real service: take it, choose a reading, put a
place on the map, give the pickup out by hand, call it off. A second one is always told."""

from __future__ import annotations

import re

import pytest

from bot.service.desk import Desk
from tests.web.office import RICH, post

IN_BODY = "Sow with lumps in the lungs at -36.87 147.15 yesterday"


def act(client, office, code, path, **form):
    card = f"/desk/find/{code}"
    return post(client, card, f"{card}/{path}", turn=form.pop("turn", office.turn(code)), **form)


def page_of(client, code):
    return client.get(f"/desk/find/{code}").get_data(as_text=True)


def answer(office, code, question):
    return Desk(office.database).find_card(code).conversation.answers[question]


def test_a_find_is_taken_and_left_from_the_list(office, ines):
    code = office.text(IN_BODY)
    assert post(ines, "/desk/", f"/desk/find/{code}/claim").status_code == 303
    assert "ines has it" in ines.get("/desk/list").get_data(as_text=True)
    ada = office.client("ada")
    assert "I have it" not in ada.get("/desk/list").get_data(as_text=True)
    refused = post(ada, "/desk/", f"/desk/find/{code}/claim")
    assert refused.status_code == 409
    assert "ines has this find" in refused.get_data(as_text=True)
    post(ada, "/desk/", f"/desk/find/{code}/release")
    assert "ines has it" in ines.get("/desk/list").get_data(as_text=True)
    post(ines, "/desk/", f"/desk/find/{code}/release")
    assert post(ada, "/desk/", f"/desk/find/{code}/claim").status_code == 303


def test_nobody_can_take_what_waits_for_nobody(office, ines):
    office.text(IN_BODY)
    assert post(ines, "/desk/", "/desk/find/M2M-2MM/claim").status_code == 404


@pytest.mark.parametrize(
    ("words", "question"),
    [
        ("stag, lump under the jaw, 2 km N of Brindle Hut, yesterday", "species"),
        ("Boar, lump under the jaw, Sandy Creek, yesterday", "kill_place"),
    ],
)
def test_a_reading_on_offer_is_chosen_with_one_click(office, ines, words, question):
    code = office.text(words)
    asked = Desk(office.database).find_card(code).conversation.asked
    assert asked.question == question
    assert len(asked.choices) > 1
    page = page_of(ines, code)
    assert page.count("It is: ") == len(asked.choices)
    done = act(ines, office, code, "choose", question=question, choice=2)
    assert done.status_code == 303
    found = answer(office, code, question)
    assert found.by == "coordinator:ines"
    wanted = asked.choices[1].value
    if question == "kill_place":
        assert (found.value.lat, found.value.lon) == (wanted.lat, wanted.lon)
        assert found.value.accuracy_m == wanted.accuracy_m
    else:
        assert found.value.species == wanted.species
    assert "It is: " not in page_of(ines, code)


@pytest.mark.parametrize("number", [0, 9, -1])
def test_a_choice_that_is_not_on_offer_changes_nothing(office, ines, number):
    code = office.text(IN_BODY)
    turn = office.turn(code)
    done = act(ines, office, code, "choose", question="species", choice=number)
    assert done.status_code == 400
    assert office.turn(code) == turn


def test_a_click_on_the_map_sets_a_place_with_its_accuracy(office, ines):
    code = office.text(IN_BODY)
    form = {"question": "kill_place", "lat": "-36.9", "lon": "147.2", "accuracy_m": "120"}
    assert act(ines, office, code, "place", **form).status_code == 303
    place = answer(office, code, "kill_place").value
    assert (place.lat, place.lon, place.accuracy_m) == (-36.9, 147.2, 120.0)
    assert act(ines, office, code, "place", turn=1, **form).status_code == 409


@pytest.mark.parametrize(
    ("lat", "lon", "accuracy"),
    [
        ("91", "147", "50"),
        ("-36", "nan", "50"),
        ("", "", ""),
        ("-36", "147", "-5"),
        ("-36", "147", "inf"),
    ],
)
def test_a_click_beside_the_world_is_refused(office, ines, lat, lon, accuracy):
    code = office.text(IN_BODY)
    form = {"question": "kill_place", "lat": lat, "lon": lon, "accuracy_m": accuracy}
    assert act(ines, office, code, "place", **form).status_code == 400


def pickup_of(office, code):
    return Desk(office.database).find_card(code).pickup


def opened(office):
    """A find with a pickup that is being offered."""
    code = office.text(RICH + ", head is at Brindle Hut in the freezer, double bagged")
    assert pickup_of(office, code) is not None
    return code


def test_the_card_lists_staff_by_minutes_and_says_who_is_free(office, ines):
    code = opened(office)
    page = page_of(ines, code)
    told = re.findall(r"<b>([^<]+)</b> (\d+) min, \d+ km: ([^<]+)</span>", page)
    names = {m.name for m in office.intake.programme.roster if m.role == "field"}
    assert {name for name, _, _ in told} == names
    free = [why == "free" for _, _, why in told]
    assert free == sorted(free, reverse=True)
    assert "was asked already" in page


def test_a_pickup_is_given_out_by_hand_and_called_off(office, ines):
    code = opened(office)
    staff = [m for m in office.intake.programme.roster if m.role == "field"][-1]
    stale = act(ines, office, code, "assign", staff=staff.id, turn=0)
    assert stale.status_code == 409
    assert act(ines, office, code, "assign", staff=staff.id).status_code == 303
    assert (pickup_of(office, code).state, pickup_of(office, code).staff_id) == ("taken", staff.id)
    assert f"taken</b> by {staff.name}" in page_of(ines, code)
    assert act(ines, office, code, "call-off", why="found bad").status_code == 303
    assert pickup_of(office, code).state == "called_off"
    assert "Give it to somebody" not in page_of(ines, code)


def test_ready_made_sentences_speak_the_hunters_language_and_work_without_script(office, ines):
    code = office.text(IN_BODY)
    page = ines.get(f"/desk/find/{code}?ready=ring_soon").get_data(as_text=True)
    said = f"We will ring you on this number soon about {code}."
    assert re.search(rf"<textarea[^>]*>[^<]*{re.escape(said)}</textarea>", page)


def test_a_viewer_sees_the_list_and_changes_nothing(office):
    code = office.text(IN_BODY)
    vera = office.client("vera")
    page = vera.get("/desk/").get_data(as_text=True)
    assert code in page
    assert "lungs" not in page
    assert "/desk/find/" not in page
    for closed in (f"/desk/find/{code}/custody", f"/desk/find/{code}/age", "/desk/laboratory"):
        assert vera.get(closed, follow_redirects=True).status_code == 403
    token = re.search(r'name="csrf_token" value="([^"]+)"', page).group(1)
    turn = office.turn(code)
    for path in ("claim", "choose", "place", "assign", "call-off", "write", "close", "correct"):
        form = {"csrf_token": token, "turn": turn, "body": "x", "reason": "finished"}
        assert vera.post(f"/desk/find/{code}/{path}", data=form).status_code == 403
    assert office.turn(code) == turn


def test_words_that_were_given_up_are_read_again_for_a_person(office, ines):
    """After two misses nothing is on offer to the hunter; the coordinator still sees readings."""
    code = office.text("Boar, lump under the jaw, Sandy Creek, yesterday")
    for words in ("down by the creek mate", "Sandy Creek I said", "Sandy Creek"):
        office.text(words)
    card = Desk(office.database).find_card(code)
    assert "unread_kill_place" in card.conversation.reviews
    page = page_of(ines, code)
    point = re.search(
        r'name="question" value="kill_place">.*?name="lat" value="([^"]+)".*?name="lon" '
        r'value="([^"]+)".*?name="accuracy_m" value="([^"]+)"',
        page,
        re.DOTALL,
    )
    lat, lon, accuracy = map(float, point.groups())
    form = {"question": "kill_place", "lat": lat, "lon": lon, "accuracy_m": accuracy}
    assert act(ines, office, code, "choose", heard="Sandy Creek", **form).status_code == 303
    found = answer(office, code, "kill_place")
    assert (found.value.lat, found.heard, found.by) == (lat, "Sandy Creek", "coordinator:ines")
    assert "unread_kill_place" not in Desk(office.database).find_card(code).conversation.reviews
