"""What the desk's pages weigh on the way: the page as it is, sheets and scripts in gzip, under
250 kB for the first one that is opened, and nothing of it from another host."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest

from tests.web.office import RICH, open_office

BUDGET = 250_000
"""Bytes of the first load, as promised for the desk."""
GZIP = {"Accept-Encoding": "gzip"}


class Parts(HTMLParser):
    """The addresses that a page loads by itself, also those that a script of it loads later."""

    def __init__(self):
        super().__init__()
        self.found = set()

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        named = {"script": ("src", "data-library", "data-sheet", "data-drawing", "data-style")}
        if tag == "link" and told.get("rel") in ("stylesheet", "icon", "manifest"):
            self.found.add(told["href"])
        for name in named.get(tag, ("src",)):
            self.found |= {told[name]} - {None} if name in told else set()


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    with open_office(tmp_path_factory.mktemp("first-load")) as opened:
        yield opened


@pytest.fixture(scope="module")
def code(office):
    return office.text(RICH)


def weights(client, path):
    """Bytes of a page and of each part as they are sent."""
    page = client.get(path, headers=GZIP)
    assert page.status_code == 200
    parts = Parts()
    parts.feed(page.get_data(as_text=True))
    sent = {path: len(page.data)}
    for part in parts.found:
        assert part.startswith("/"), f"{path} asks another host: {part}"
        answer = client.get(part, headers=GZIP)
        assert answer.status_code == 200, part
        sent[part] = len(answer.data)
    return sent


@pytest.mark.parametrize("path", ["/desk/", "/desk/find/{code}", "/desk/map/", "/desk/season/"])
def test_a_first_load_of_the_desk_keeps_to_its_budget(office, code, path):
    sent = weights(office.client(), path.format(code=code))
    assert any(name.endswith(".css") for name in sent)
    assert any(name.endswith(".js") for name in sent)
    assert sum(sent.values()) < BUDGET, sent
