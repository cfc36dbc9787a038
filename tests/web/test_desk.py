"""The desk's routes: every act is one event, based on a turn; a second writer is told."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from msgspec.structs import replace

from bot.fieldwork.state import Offer, Pickup
from bot.messages import (
    Closed,
    Correction,
    HandedBack,
    PersonWrote,
    Photo,
    Pin,
    SendNow,
    TakenOver,
)
from bot.reading.values import Place, Sign
from bot.service.desk_rows import Card, Line, ReviewRow, Waiting
from bot.talk.state import Answer, Conversation, Seen
from tests.web.test_accounts import log_in, token
from tests.web.wires import NOW, client_of, make_wiring

CODE = "K7R-4TR"
SPITE = "<script>alert('x')</script>"
TALK = Conversation(
    CODE,
    NOW,
    turn=3,
    kind="body",
    answers={
        "seen": Answer("seen", Seen((Sign("lung", "", "lumps"),)), f"lumps {SPITE}", NOW),
        "kill_place": Answer(
            "kill_place", Place(-36.87, 147.15, 713.0, "degrees"), "-36.87 147.15", NOW, "pin"
        ),
        "name": Answer("name", Seen(), "", NOW, declined=True),
    },
)
CARD = Card(
    code=CODE,
    turn=3,
    conversation=TALK,
    find_state="suspect",
    opened_at=NOW,
    last_event_at=NOW,
    channel="sms",
    number="+61491570006",
    gateway="paddock",
    opted_out=False,
    lines=(
        Line("in-1", True, NOW, f"lumps {SPITE}", pin=Pin(-36.87, 147.15), photos=(Photo("p1"),)),
        Line("out-1", False, NOW, "Leave it.", kind="advice", state="sent", segments=2),
        Line(
            "out-2",
            False,
            NOW,
            "Hello.",
            kind="person",
            state="failed",
            error="timeout",
            segments=1,
        ),
        Line("out-3", False, NOW, "Not any more.", kind="question", state="withdrawn", segments=1),
    ),
    reviews=(
        ReviewRow("sign_in_body", f"lumps {SPITE}", True, NOW, None, ""),
        ReviewRow("unread", "x", False, NOW, NOW, ""),
    ),
)
WAITING = Waiting(
    code=CODE,
    reasons=("sign_in_body", "unread"),
    heard=(f"lumps {SPITE}",),
    at_once=True,
    opened_at=NOW - timedelta(hours=3),
    taken_by="ines",
    warm=timedelta(hours=7),
    conversation=TALK,
)


class FakeDesk:
    card: Card = CARD

    def review_list(self, now):
        return (WAITING,)

    def find_card(self, code):
        return self.card if code == CODE else None


@pytest.fixture
def wiring():
    return make_wiring(FakeDesk())


@pytest.fixture
def client(wiring):
    client = client_of(wiring)
    log_in(client)
    return client


def act(client, path, code=CODE, turn="3", **form):
    page = client.get(f"/desk/find/{CODE}")
    return client.post(
        f"/desk/find/{code}/{path}", data={"csrf_token": token(page), "turn": turn, **form}
    )


@pytest.mark.parametrize(
    ("path", "form", "event"),
    [
        (
            "correct",
            {"question": "when", "words": " sunday "},
            Correction(NOW, "ines", "when", "sunday"),
        ),
        ("write", {"body": "Hello.\nInes"}, PersonWrote(NOW, "ines", "Hello.\nInes")),
        ("take-over", {}, TakenOver(NOW, "ines")),
        ("hand-back", {}, HandedBack(NOW, "ines")),
        ("send", {}, SendNow(NOW, "ines")),
        (
            "close",
            {"reason": "no_find", "note": "a stone"},
            Closed(NOW, "ines", "no_find", "a stone"),
        ),
    ],
)
def test_every_act_is_one_event_on_the_turn_that_was_seen(client, wiring, path, form, event):
    answer = act(client, path, **form)
    assert answer.status_code == 303
    assert answer.location.startswith(f"/desk/find/{CODE}")
    assert wiring.intake.told == [(CODE, event, 3)]


@pytest.mark.parametrize(
    ("path", "form", "status"),
    [
        ("write", {"body": "late", "turn": "2"}, 409),
        ("write", {"body": "no such find", "code": "M2M-2MM"}, 404),
        ("write", {"body": "no turn", "turn": ""}, 400),
        ("write", {"body": "odd turn", "turn": "x"}, 400),
        ("write", {"body": "  "}, 400),
        ("write", {"body": "x" * 1001}, 400),
        ("correct", {"question": "shoe_size", "words": "9"}, 400),
        ("correct", {"question": "when"}, 400),
        ("close", {"reason": "bored"}, 400),
        ("close", {}, 400),
        ("send", {"csrf_token": "made up"}, 400),
    ],
)
def test_what_is_refused_changes_nothing(client, wiring, path, form, status):
    assert act(client, path, **form).status_code == status
    assert wiring.intake.told == []


def test_taking_over_puts_a_name_on_the_find_and_handing_back_takes_it_off(client, wiring):
    act(client, "take-over", turn="2")
    assert wiring.claims.names == {}
    act(client, "take-over")
    assert wiring.claims.names == {CODE: "ines"}
    act(client, "hand-back")
    assert wiring.claims.names == {}


def test_a_second_writer_keeps_his_words(client):
    page = act(client, "write", turn="2", body=SPITE).get_data(as_text=True)
    assert "This find has moved on" in page
    assert "&lt;script&gt;alert(" in page
    assert SPITE not in page


def test_the_card_shows_what_was_understood_and_heard(client):
    page = client.get(f"/desk/find/{CODE}").get_data(as_text=True)
    assert "Sign in the body" in page
    assert "good to 713 m" in page
    assert "from a position" in page
    assert "would rather not say" in page
    assert "not known yet" in page
    assert "Nobody could read the words" not in page  # That reason is settled.
    assert "Send somebody" in page
    assert SPITE not in page
    assert page.count("&lt;script&gt;") >= 3


def test_the_card_shows_what_each_text_cost(client):
    page = client.get(f"/desk/find/{CODE}").get_data(as_text=True)
    assert "2 segments, sent" in page
    assert "1 segment, could not be sent (timeout)" in page
    assert "2 texts out, 3 segments in all" in page


@pytest.mark.parametrize(
    ("kind", "pickup", "offered"),
    [
        ("body", None, True),
        ("found_dead", None, True),
        ("blisters", None, True),
        ("head", None, False),
        ("clean", None, False),
        ("", None, False),
        ("body", Pickup(CODE, -36.87, 147.15, 100.0, "hut", state="taken", staff_id="f1"), False),
    ],
)
def test_sending_somebody_is_offered_where_the_bot_will_not(client, wiring, kind, pickup, offered):
    wiring.desk.card = replace(CARD, conversation=replace(TALK, kind=kind), pickup=pickup)
    page = client.get(f"/desk/find/{CODE}").get_data(as_text=True)
    assert ("Send somebody" in page) is offered


def test_the_pickup_names_who_was_asked(client, wiring):
    offer = Offer("f1", NOW, NOW, "lapsed", km=19.4)
    pickup = Pickup(CODE, -36.87, 147.15, 100.0, "hut", offers=(offer,), state="with_coordinator")
    wiring.desk.card = replace(CARD, pickup=pickup)
    page = client.get(f"/desk/find/{CODE}").get_data(as_text=True)
    assert "needs somebody found by hand" in page
    assert f"{wiring.programme.roster[0].name}, 19 km: did not answer in time" in page


def test_a_closed_find_has_no_forms(client, wiring):
    wiring.desk.card = replace(CARD, conversation=replace(TALK, stage="closed"))
    page = client.get(f"/desk/find/{CODE}").get_data(as_text=True)
    assert re.findall(r'action="/desk/find/[^"]+"', page) == []


def test_the_list_gives_reason_and_clock(client):
    page = client.get("/desk/list").get_data(as_text=True)
    assert "Sign in the body" in page
    assert "head warm 7 h, waits 3 h" in page
    assert "ines has it" in page
    assert SPITE not in page


@pytest.mark.parametrize("typed", ["K7R-4TR", "k7r4tr", " k7r 4tr "])
def test_a_code_may_be_typed_loosely(client, typed):
    answer = client.get("/desk/find", query_string={"code": typed})
    assert answer.location == f"/desk/find/{CODE}"


@pytest.mark.parametrize("typed", ["", "nonsense", "x" * 500, "<b>"])
def test_what_is_no_code_is_no_page(client, typed):
    assert client.get("/desk/find", query_string={"code": typed}).status_code == 404


def test_an_unknown_find_is_no_page(client):
    assert client.get("/desk/find/M2M-2MM").status_code == 404


def test_a_kept_picture_is_shown_to_coordinators_only(client, wiring):
    wiring.shelf.kept["p1"] = b"jpeg"
    assert client.get("/desk/photo/p1").data == b"jpeg"
    assert client.get("/desk/photo/p2").status_code == 404
    assert client_of(wiring).get("/desk/photo/p1").status_code == 302


def test_a_card_shows_what_matters_and_folds_away_what_does_not(client):
    page = client.get(f"/desk/find/{CODE}").get_data(as_text=True)
    assert set(re.findall(r'id="a-(\w+)"', page)) == {
        *("seen", "kill_place", "when", "species", "land", "name")
    }
    offered = re.search(r'<select id="unasked".*?</select>', page, re.S).group()
    assert {"head_at", "depot", "access", "wrong_head"} <= set(
        re.findall(r'value="(\w+)"', offered)
    )
    assert not {"when", "land"} & set(re.findall(r'value="(\w+)"', offered))
