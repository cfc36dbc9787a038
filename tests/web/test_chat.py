"""The chat's routes: one text for one form, whatever is pressed how often."""

from __future__ import annotations

import io
import re
from datetime import timedelta

import pytest
from sqlalchemy import select

from bot.messages import Pin
from bot.service import tables
from bot.service.desk_rows import ChatTalk, Line
from tests.web.office import open_office
from tests.web.test_accounts import token
from tests.web.test_pictures import drawn, with_exif
from tests.web.wires import NOW, client_of, make_wiring


class FakeDesk:
    """Gives back what was heard, as the real one does, and one line of ours."""

    def __init__(self):
        self.asked: list[tuple[str, int]] = []

    def chat_talk(self, session, after=0):
        self.asked.append((session, after))
        if len({name for name, _ in self.asked}) > 1:
            return ChatTalk((), 0)  # The first browser that asked has said all of it.
        lines = (Line("in-1", True, NOW, "a <b>lump</b>"), Line("out-1", False, NOW, "Leave it."))
        return ChatTalk(lines[after:], 2)


@pytest.fixture
def wiring():
    return make_wiring(FakeDesk())


@pytest.fixture
def client(wiring):
    return client_of(wiring)


def form_of(page, **fields):
    entry = re.search(r'name="entry" value="([^"]+)"', page.get_data(as_text=True)).group(1)
    return {"csrf_token": token(page), "entry": entry, **fields}


def say(client, **fields):
    return client.post("/chat", data=form_of(client.get("/chat"), **fields))


def test_words_are_heard_and_the_page_is_shown_again(client, wiring):
    answer = say(client, text=" lump under the jaw ")
    assert (answer.status_code, answer.location) == (303, "/chat#pen")
    (heard,) = wiring.intake.heard
    assert (heard.gateway, heard.body, heard.sent_at) == ("chat", "lump under the jaw", NOW)


def test_the_same_form_twice_is_one_text(client, wiring):
    form = form_of(client.get("/chat"), text="lump")
    assert [client.post("/chat", data=form).status_code for _ in range(3)] == [303] * 3
    assert len(wiring.intake.heard) == 1


def test_a_visitor_keeps_his_name_and_another_has_his_own(client, wiring):
    say(client, text="one")
    say(client, text="two")
    say(client_of(wiring), text="three")
    senders = [heard.sender for heard in wiring.intake.heard]
    assert senders[0] == senders[1] != senders[2]
    assert len(senders[0]) >= 20


def test_nobody_reads_a_talk_without_its_cookie(client, wiring):
    say(client, text="one")
    other = client_of(wiring)
    assert "Leave it." not in other.get("/chat").get_data(as_text=True)
    news = other.get("/chat/news").get_json()
    assert (news["entries"], news["after"]) == ([], 0)
    assert {name for name, _ in wiring.desk.asked} >= {wiring.intake.heard[0].sender}
    assert client.get("/chat/news").get_json()["talk"] != news["talk"]


def test_news_are_told_from_a_point_on(client, wiring):
    say(client, text="one")
    news = client.get("/chat/news?after=1").get_json()
    assert [entry["body"] for entry in news["entries"]] == ["Leave it."]
    assert news["after"] == 2
    assert client.get("/chat/news?after=x").status_code == 200


def test_markup_in_words_stays_words(client):
    say(client, text="one")
    page = client.get("/chat").get_data(as_text=True)
    assert "a &lt;b&gt;lump&lt;/b&gt;" in page
    assert "<b>lump" not in page


def test_a_position_goes_along(client, wiring):
    say(client, text="", lat="-36.85", lon="147.15", accuracy="12.5")
    assert wiring.intake.heard[0].pin == Pin(-36.85, 147.15, 12.5)


@pytest.mark.parametrize(
    ("waited", "believed"),
    [
        ("3600000", timedelta(hours=1)),
        ("", timedelta(0)),
        ("-5", timedelta(0)),
        ("nan", timedelta(0)),
        ("1e99", timedelta(0)),
        ("long", timedelta(0)),
    ],
)
def test_a_text_has_the_time_at_which_it_was_written(client, wiring, waited, believed):
    say(client, text="x", waited=waited)
    assert wiring.intake.heard[0].sent_at == NOW - believed


def test_what_was_made_smaller_brings_where_and_when_it_was_taken(client, wiring):
    file = with_exif()
    exif = file[file.index(b"Exif\0\0") :][:4000]
    say(client, photo=(io.BytesIO(drawn()), "a.jpg"), exif=(io.BytesIO(exif), "exif"))
    (photo,) = wiring.intake.heard[0].photos
    assert photo.pin.lat == pytest.approx(-36.8484278, abs=1e-6)


def test_a_form_that_waited_gets_a_token_of_now(client, wiring):
    told = client.get("/chat/token").get_json()
    form = {"csrf_token": told["token"], "text": "x"}
    assert client.post("/chat", data=form).status_code == 303
    assert client.get("/chat/news").get_json()["talk"] == told["talk"]


def test_a_photo_goes_along_with_the_position_it_carries(client, wiring):
    say(client, text="", photo=(io.BytesIO(with_exif()), "../../my hut.jpg"))
    (photo,) = wiring.intake.heard[0].photos
    assert photo.pin.lat == pytest.approx(-36.8484278, abs=1e-6)
    assert b"Exif" not in wiring.shelf.kept[photo.key]


@pytest.mark.parametrize(
    "fields",
    [
        {"text": ""},
        {"text": "   "},
        {"text": "x", "lat": "95", "lon": "0"},
        {"text": "x", "lat": "nan", "lon": "0"},
        {"text": "x", "lat": "here", "lon": "there"},
        {"text": "x", "photo": (b"not a picture", "a.jpg")},
        {"text": "x", "photo": (drawn(form="GIF"), "a.gif")},
    ],
)
@pytest.mark.parametrize("wants", ["text/html", "application/json"])
def test_what_cannot_be_taken_is_said_and_kept_in_the_page(wiring, fields, wants):
    client = client_of(wiring)
    if "photo" in fields:
        data, name = fields["photo"]
        fields = {**fields, "photo": (io.BytesIO(data), name)}
    form = form_of(client.get("/chat"), **fields)
    answer = client.post("/chat", data=form, headers={"Accept": wants})
    assert answer.status_code == 400
    assert wiring.intake.heard == []
    if wants == "application/json":
        assert answer.get_json()["why"]
    else:
        assert 'role="alert"' in answer.get_data(as_text=True)


def test_with_javascript_the_next_form_has_its_own_name(client, wiring):
    form = form_of(client.get("/chat"), text="one")
    said = client.post("/chat", data=form, headers={"Accept": "application/json"}).get_json()
    assert said["entry"] != form["entry"]
    client.post("/chat", data={**form, "entry": said["entry"], "text": "two"})
    assert [heard.body for heard in wiring.intake.heard] == ["one", "two"]


def test_without_its_token_nothing_is_heard(client, wiring):
    assert client.post("/chat", data={"text": "x"}).status_code == 400
    assert wiring.intake.heard == []


def test_too_large_is_said_in_a_page(client):
    form = form_of(client.get("/chat"), text="x", photo=(io.BytesIO(b"x" * 2_200_000), "a.jpg"))
    answer = client.post("/chat", data=form)
    assert answer.status_code == 413
    assert "up to 2 MB" in answer.get_data(as_text=True)


def test_words_that_no_database_takes_are_made_fit(client, wiring):
    say(client, text="a\x00b")
    assert wiring.intake.heard[0].body == "ab"


def test_a_programme_without_a_chat_has_no_such_page():
    client = client_of(make_wiring(gateways={}))
    assert client.get("/chat").status_code == 404
    assert "/chat" not in client.get("/").get_data(as_text=True)
    assert "/chat" in client_of(make_wiring()).get("/").get_data(as_text=True)


def test_the_photo_of_a_repeat_is_not_kept(tmp_path):
    with open_office(tmp_path) as office:
        client = office.client("")
        form = form_of(client.get("/chat"), text="lump under the jaw")
        for _ in range(3):
            photo = io.BytesIO(with_exif()), "a.jpg"
            assert client.post("/chat", data={**form, "photo": photo}).status_code == 303
        with office.database.read() as connection:
            owners = connection.scalars(select(tables.Photo.text_id)).all()
            assert owners == connection.scalars(select(tables.TextIn.id)).all()
            assert len(owners) == 1
