"""The webhook's table of answers, each with what is stored: nothing, unless it is 200."""

from __future__ import annotations

import base64
import io
import json

import pytest
from PIL import Image

from bot.gateways.signed import open_signed
from bot.programme import GatewayRow
from tests.gateways.asking import ENV, OLD_SECRET, PAYLOADS, SECRET, signed
from tests.web.wires import client_of, make_wiring

BARE = (PAYLOADS / "signed" / "bare.json").read_bytes()


@pytest.fixture
def wiring():
    return make_wiring()


@pytest.fixture
def client(wiring):
    return client_of(wiring)


def post(client, body=BARE, path="/hear/paddock", headers=None):
    headers = dict(signed(body).headers) if headers is None else headers
    return client.post(path, data=body, headers=headers)


def test_a_text_is_heard_and_answered_with_nothing(client, wiring):
    answer = post(client)
    assert (answer.status_code, answer.data) == (200, b"")
    assert [heard.id for heard in wiring.intake.heard] == ["pd-20261125-0002"]


def test_a_repeat_is_answered_alike_and_changes_nothing(client, wiring):
    assert [post(client).status_code for _ in range(3)] == [200, 200, 200]
    assert len(wiring.intake.heard) == 1


REPORT = b'{"id": "out-9", "state": "delivered", "at": "2026-11-25T07:00:00Z"}'
NO_FROM = json.dumps({"id": "1", "text": "x", "at": "2026-11-25T00:00:00Z"}).encode()
TOO_MUCH = b'{"id": "' + b"x" * (2 * 1024 * 1024) + b'"}'


@pytest.mark.parametrize(
    ("name", "send", "status"),
    [
        ("another secret", lambda c: post(c, headers=dict(signed(BARE, OLD_SECRET).headers)), 403),
        ("no headers", lambda c: post(c, headers={}), 403),
        (
            "no comma",
            lambda c: post(c, headers={**signed(BARE).headers, "webhook-signature": "x"}),
            403,
        ),
        ("body changed", lambda c: post(c, BARE + b" ", headers=dict(signed(BARE).headers)), 403),
        ("malformed and unsigned", lambda c: post(c, b"{", headers={}), 403),
        ("the chat by the webhook", lambda c: post(c, path="/hear/chat"), 403),
        ("wrong token", lambda c: c.get("/hear/hill?from=1&text=x&id=2&token=no"), 403),
        ("not JSON", lambda c: post(c, b"{"), 400),
        ("no sender", lambda c: post(c, NO_FROM), 400),
        (
            "no text in a query",
            lambda c: c.get("/hear/hill?from=1&id=2&token=hut-on-the-hill"),
            400,
        ),
        ("too large", lambda c: post(c, TOO_MUCH), 413),
        ("unknown gateway", lambda c: post(c, path="/hear/nowhere"), 404),
        ("GET where POST is meant", lambda c: c.get("/hear/paddock"), 405),
        ("HEAD", lambda c: c.head("/hear/paddock"), 405),
        ("OPTIONS", lambda c: c.options("/hear/paddock"), 405),
        (
            "PUT",
            lambda c: c.put("/hear/paddock", data=BARE, headers=dict(signed(BARE).headers)),
            405,
        ),
        ("POST where GET is meant", lambda c: c.post("/hear/hill?token=hut-on-the-hill"), 405),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_refused_leaves_nothing(client, wiring, name, send, status):
    answer = send(client)
    assert answer.status_code == status
    assert wiring.intake.heard == []
    assert wiring.shelf.kept == {}
    if status != 400:
        assert answer.data == b""
    if status == 405:
        assert answer.headers["Allow"]


def test_a_malformed_field_is_named(client):
    assert post(client, NO_FROM).get_json() == {"field": "from", "why": "missing"}


def test_a_get_gateway_is_answered_with_nothing(client, wiring):
    # kannel texts the answer of a get-url back to the hunter (its user guide).
    answer = client.get("/hear/hill?from=447700900123&text=a+lump&id=9&token=hut-on-the-hill")
    assert (answer.status_code, answer.data) == (200, b"")
    assert wiring.intake.heard[0].body == "a lump"


def test_a_text_that_could_not_be_stored_is_no_200():
    wiring = make_wiring()
    wiring.intake.fault = OSError("the disk is full")
    assert post(client_of(wiring)).status_code == 500


def picture(**options) -> str:
    kept = io.BytesIO()
    Image.new("RGB", (60, 40), "brown").save(kept, "PNG", **options)
    return base64.b64encode(kept.getvalue()).decode()


def test_pictures_are_kept_clean_and_put_in_the_text(client, wiring):
    full = json.loads((PAYLOADS / "signed" / "full.json").read_text())
    full["media"] = [{"type": "image/png", "data": picture()}]
    assert post(client, json.dumps(full).encode()).status_code == 200
    (heard,) = wiring.intake.heard
    assert [photo.key for photo in heard.photos] == ["photo-0"]
    assert heard.pictures == ()
    assert Image.open(io.BytesIO(wiring.shelf.kept["photo-0"])).format == "JPEG"


def test_the_picture_of_a_repeat_is_not_kept(client, wiring):
    full = json.loads((PAYLOADS / "signed" / "full.json").read_text())
    full["media"] = [{"type": "image/png", "data": picture()}]
    for _ in range(3):
        assert post(client, json.dumps(full).encode()).status_code == 200
    assert list(wiring.shelf.kept) == ["photo-0"]


def test_words_survive_a_picture_that_is_broken(client, wiring):
    answer = post(client, (PAYLOADS / "signed" / "full.json").read_bytes())
    assert answer.status_code == 200
    assert wiring.intake.heard[0].body.startswith("Boar, lump")
    assert wiring.intake.heard[0].photos == ()


def test_logs_hold_neither_words_nor_numbers(client, caplog):
    post(client, headers={})
    post(client, NO_FROM)
    post(client)
    assert "+61" not in caplog.text
    assert "0491" not in caplog.text


def test_a_report_is_taken_and_answered_with_nothing(client, wiring):
    asked = "/hear/hill/report?key=out-9&state=16&token=hut-on-the-hill"
    answer = client.get(asked)
    assert (answer.status_code, answer.data) == (200, b"")
    (report,) = wiring.intake.reported
    assert (report.id, report.state, report.reason) == ("out-9", "undeliverable", "16")


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/hear/hill/report?key=out-9&state=1&token=no", 403),
        ("/hear/hill/report?state=1&token=hut-on-the-hill", 400),
        ("/hear/paddock/report", 404),
        ("/hear/nowhere/report", 404),
    ],
)
def test_a_report_that_is_refused_changes_nothing(client, wiring, path, status):
    assert client.get(path).status_code == status
    assert wiring.intake.reported == []
    assert client.post("/hear/hill/report?token=hut-on-the-hill").status_code == 405


@pytest.mark.parametrize(
    ("body", "secret", "status"),
    [
        (REPORT, SECRET, 200),
        (REPORT, OLD_SECRET, 403),
        (REPORT.replace(b"delivered", b"lost"), SECRET, 400),
    ],
)
def test_our_own_gateway_takes_signed_reports(body, secret, status):
    row = GatewayRow("signed", ("NEW_KEY",), options={"reports": "yes"})
    wiring = make_wiring(gateways={"paddock": open_signed("paddock", row, ENV)})
    headers = dict(signed(body, secret).headers)
    answer = post(client_of(wiring), body, "/hear/paddock/report", headers)
    assert answer.status_code == status
    reported = [(r.id, r.state) for r in wiring.intake.reported]
    assert reported == ([("out-9", "delivered")] if status == 200 else [])
