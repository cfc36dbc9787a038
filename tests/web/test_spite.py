"""Markup in the name of a photo or of a landmark stays words on every page of the desk."""

from __future__ import annotations

import io
from html.parser import HTMLParser

import pytest

from bot.messages import Heard, Photo
from bot.programme import load_programme
from bot.service.desk import Desk
from tests.web.office import MATE, open_office
from tests.web.test_chat import drawn, form_of
from tests.web.wires import NOW, PROGRAMME

SPITE = "<img src=x onerror=hurt()><script>hurt()</script>"
KEY = "'\"><script>hurt()</script>"
DAYS = "first=2026-01-01&last=2030-01-01"
PAGES = (
    *("/desk/", "/desk/list", "/desk/find/{0}", "/desk/find/{1}", "/desk/find/{2}"),
    *("/desk/search/?for=boar", f"/desk/map/?{DAYS}", f"/desk/season/?{DAYS}", "/desk/enter"),
    *("/desk/find/{0}/custody", "/desk/find/{0}/age", "/desk/laboratory", "/desk/roster/f1"),
)


class Tags(HTMLParser):
    """What a browser would run: scripts without an address, and attributes that begin with on."""

    def __init__(self):
        super().__init__()
        self.run = []

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        if (tag == "script" and "src" not in told) or any(name.startswith("on") for name in told):
            self.run.append((tag, attrs))


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    marks = PROGRAMME.files["landmarks.csv"].replace("Settlers Road", f"{SPITE} Road")
    assert SPITE in marks
    programme = load_programme({**PROGRAMME.files, "landmarks.csv": marks})
    with open_office(tmp_path_factory.mktemp("spite"), programme=programme) as opened:
        yield opened


@pytest.fixture(scope="module")
def codes(office):
    """Finds beside the hostile landmark, with a hostile photo, and with one sent by the chat."""
    road = next(m for m in office.intake.programme.landmarks if SPITE in m.name)
    where = f"boar, pus in the jaw gland, yesterday, {road.lat:.4f} {road.lon:.4f}"
    near = office.text(where)
    heard = Heard("hostile", "paddock", MATE, where, NOW, photos=(Photo(KEY),))
    seen = office.intake.hear(heard, NOW).code
    chat = office.client("")
    photo = (io.BytesIO(drawn()), f"{SPITE}.jpg")
    form = form_of(chat.get("/chat"), text=where, photo=photo)
    assert chat.post("/chat", data=form).status_code == 303
    return (near, seen, Desk(office.database).finds()[0].code)


def test_the_hostile_names_do_stand_on_the_pages(office, codes):
    client = office.client()
    cards = [client.get(f"/desk/find/{code}").get_data(as_text=True) for code in codes]
    assert "&lt;script&gt;hurt()" in cards[0]
    assert "/desk/photo/" in cards[1]
    assert "/desk/photo/" in cards[2]


@pytest.mark.parametrize("path", PAGES)
def test_no_markup_of_theirs_is_run(office, codes, path):
    page = office.client("ines").get(path.format(*codes))
    assert page.status_code == 200
    body = page.get_data(as_text=True)
    tags = Tags()
    tags.feed(body)
    assert tags.run == []
    assert "<script>hurt" not in body
    assert "<img src=x" not in body
    policy = page.headers["Content-Security-Policy"]
    assert "'unsafe-inline'" not in policy
