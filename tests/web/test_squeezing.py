"""Sheets and scripts go out in gzip to whoever takes it; pages never do."""

from __future__ import annotations

import gzip

import pytest

from tests.web.wires import client_of, make_wiring

SHEET = "/static/paper.css"
GZIP = {"Accept-Encoding": "gzip"}


@pytest.fixture(scope="module")
def client():
    return client_of(make_wiring())


def test_a_sheet_is_the_same_in_fewer_bytes(client):
    plain, small = client.get(SHEET), client.get(SHEET, headers=GZIP)
    assert small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.data) == plain.data  # RFC 1952, by the standard library.
    assert len(small.data) < len(plain.data) / 2
    assert int(small.headers["Content-Length"]) == len(small.data)
    assert "Accept-Encoding" in plain.headers["Vary"]


@pytest.mark.parametrize("accepted", ["", "br", "gzip;q=0", "identity"])
def test_who_does_not_take_it_gets_it_plain(client, accepted):
    answer = client.get(SHEET, headers={"Accept-Encoding": accepted})
    assert "Content-Encoding" not in answer.headers


@pytest.mark.parametrize("path", ["/", "/chat", "/static/tag.svg", "/nowhere"])
def test_pages_and_small_things_stay_as_they_are(client, path):
    assert "Content-Encoding" not in client.get(path, headers=GZIP).headers


def test_what_the_browser_has_is_not_sent_again(client):
    tag = client.get(SHEET, headers=GZIP).headers["ETag"]
    assert tag.startswith("W/")
    again = client.get(SHEET, headers={**GZIP, "If-None-Match": tag})
    assert (again.status_code, again.data) == (304, b"")
