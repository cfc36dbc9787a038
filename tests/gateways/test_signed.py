"""Our own JSON: the published vector of Standard Webhooks, rotation, and every broken payload."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks.webhooks import Webhook

from bot.gateways.protocol import BadBody, BadProof, BadSettings, NotSent, Report
from bot.gateways.signed import Signed, new_key, open_signed, signed_headers
from bot.messages import Address, Pin
from bot.programme import GatewayRow
from tests.gateways.asking import (
    ENV,
    NOW,
    OLD_SECRET,
    PAYLOADS,
    SECRET,
    heard_or_path,
    request,
    signed,
)

GOOD = json.loads((PAYLOADS / "signed" / "bare.json").read_text())
OTHER_SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


def test_signs_as_the_published_vector():
    # standard-webhooks/standard-webhooks, the vector of its libraries' tests: secret, id,
    # timestamp 1614265330, body and signature.
    key = new_key("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
    at = datetime.fromtimestamp(1614265330, UTC)
    made = signed_headers(key, "msg_p5jXN8AQM9LWM0D4loKWxJek", b'{"test": 2432232314}', at)
    assert made["webhook-signature"] == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    assert made["webhook-timestamp"] == "1614265330"


def test_signs_the_same_moment_in_any_zone():
    key, at = new_key(SECRET), datetime(2026, 11, 25, 7, tzinfo=UTC)
    elsewhere = at.astimezone(timezone(timedelta(hours=11)))
    assert signed_headers(key, "a", b"{}", at) == signed_headers(key, "a", b"{}", elsewhere)


@pytest.mark.parametrize("secret", [SECRET, OLD_SECRET])
def test_every_secret_of_a_rotation_proves(paddock, secret):
    paddock.verify(signed(b"{}", secret), NOW)


def test_the_first_secret_signs(paddock):
    assert paddock.keys[0].sign("a", NOW, "{}") == Webhook(SECRET).sign("a", NOW, "{}")


GOOD_HEADERS = dict(signed(b"{}").headers)


@pytest.mark.parametrize(
    "change",
    [
        {"webhook-signature": "no comma at all"},
        {"webhook-signature": "v1,not base64!"},
        {"webhook-signature": "v1"},
        {"webhook-signature": ",,,"},
        {"webhook-signature": GOOD_HEADERS["webhook-signature"].replace("v1,", "v2,")},
        {"webhook-signature": ""},
        {"webhook-id": ""},
        {"webhook-id": "another"},
        {"webhook-timestamp": "yesterday"},
        {"webhook-timestamp": "nan"},
        {"webhook-timestamp": "1e400"},
        {"webhook-timestamp": ""},
    ],
)
def test_a_header_that_does_not_prove_is_no_proof(paddock, change):
    headers = {**signed(b"{}").headers, **change}
    with pytest.raises(BadProof):
        paddock.verify(request(b"{}", headers), NOW)


@pytest.mark.parametrize("missing", ["webhook-id", "webhook-timestamp", "webhook-signature"])
def test_a_missing_header_is_no_proof(paddock, missing):
    headers = {k: v for k, v in signed(b"{}").headers.items() if k != missing}
    with pytest.raises(BadProof):
        paddock.verify(request(b"{}", headers), NOW)


@pytest.mark.parametrize("body", [b"{} ", b"\xff\xfe", b""])
def test_a_changed_body_is_no_proof(paddock, body):
    with pytest.raises(BadProof):
        paddock.verify(request(body, signed(b"{}").headers), NOW)


def test_another_secret_is_no_proof(paddock):
    with pytest.raises(BadProof):
        paddock.verify(signed(b"{}", OTHER_SECRET), NOW)


@pytest.mark.parametrize(
    ("seconds", "proves"), [(-290, True), (-310, False), (290, True), (310, False)]
)
def test_five_minutes_on_either_side(paddock, seconds, proves):
    # The specification's libraries allow five minutes either way.
    asked = signed(b"{}", at=datetime.now(UTC) + timedelta(seconds=seconds))
    if proves:
        paddock.verify(asked, NOW)
    else:
        with pytest.raises(BadProof):
            paddock.verify(asked, NOW)


def test_one_good_signature_among_others_proves(paddock):
    # The vector's decoy entries: a list of signatures, one of which is right.
    headers = dict(signed(b"{}").headers)
    decoy = "Ceo5qEr07ixe2NLpvHk3FH9bwy/WavXrAFQ/9tdO6mc="
    right = headers["webhook-signature"]
    headers["webhook-signature"] = f"v1,{decoy} v2,{decoy} {right}"
    paddock.verify(request(b"{}", headers), NOW)


def test_hears_every_field(paddock):
    (heard,) = paddock.hear(request((PAYLOADS / "signed" / "full.json").read_bytes()))
    assert heard.id == "pd-20261125-0001"
    assert heard.gateway == "paddock"
    assert heard.sender == "+61491570006"
    assert heard.body.startswith("Boar, lump")
    assert heard.sent_at == datetime(2026, 11, 24, 20, 5, 12, tzinfo=UTC)
    assert heard.pin == Pin(-36.852, 147.15, 12.0)
    assert [p.type for p in heard.pictures] == ["image/png"]
    assert heard.pictures[0].data == b"\x89PNG\r\n\x1a\n"


def test_hears_the_least_there_can_be(paddock):
    (heard,) = paddock.hear(request((PAYLOADS / "signed" / "bare.json").read_bytes()))
    assert (heard.sender, heard.body, heard.pin, heard.pictures) == (
        "0491 570 006",
        "yes",
        None,
        (),
    )


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"id": None}, "id"),
        ({"id": ""}, "id"),
        ({"id": "x" * 201}, "id"),
        ({"id": True}, "id"),
        ({"id": 10**400}, "id"),
        ({"from": {"number": 1}}, "from"),
        ({"from": "  "}, "from"),
        ({"text": None}, "text"),
        ({"text": 5}, "text"),
        ({"text": ["a"]}, "text"),
        ({"at": "yesterday"}, "at"),
        ({"at": 5}, "at"),
        ({"at": "2026-11-25T07:05:12"}, "at"),
        ({"at": "0001-01-01T00:00:00+14:00"}, "at"),
        ({"position": 5}, "position"),
        ({"position": {"lat": 1}}, "position.lon"),
        ({"position": {"lat": 91, "lon": 0}}, "position.lat"),
        ({"position": {"lat": 0, "lon": 181}}, "position.lon"),
        ({"position": {"lat": True, "lon": 0}}, "position.lat"),
        ({"position": {"lat": float("nan"), "lon": 0}}, "position.lat"),
        ({"position": {"lat": 0, "lon": float("inf")}}, "position.lon"),
        ({"position": {"lat": 0, "lon": 0, "accuracy": -1}}, "position.accuracy"),
        ({"media": {}}, None),
        ({"media": "x"}, "media"),
        ({"media": [{}] * 5}, "media"),
        ({"media": ["x"]}, "media.0.type"),
        ({"media": [{"type": "image/jpeg"}]}, "media.0.data"),
        ({"media": [{"type": "text/html", "data": "AAAA"}]}, "media.0.type"),
        ({"media": [{"type": "image/jpeg", "data": "<>"}]}, "media.0.data"),
        ({"media": [{"type": "image/jpeg", "data": ""}]}, "media.0.data"),
        ({"media": [{"type": "image/jpeg", "data": "A" * 2_000_004}]}, "media.0.data"),
        ({"media": [{"type": "image/jpeg", "url": "http://192.0.2.1/a.jpg"}]}, "media.0.url"),
    ],
)
def test_a_wrong_field_is_named(paddock, change, path):
    body = json.dumps({**GOOD, **change}).encode()
    if path is None:
        assert paddock.hear(request(body))
        return
    with pytest.raises(BadBody) as fault:
        paddock.hear(request(body))
    assert fault.value.path == path
    assert str(fault.value).startswith(f"{path}: ")


@pytest.mark.parametrize("field", ["id", "from", "text", "at"])
def test_a_missing_field_is_named(paddock, field):
    body = json.dumps({k: v for k, v in GOOD.items() if k != field}).encode()
    with pytest.raises(BadBody) as fault:
        paddock.hear(request(body))
    assert str(fault.value) == f"{field}: missing"


@pytest.mark.parametrize(
    "body", [b"", b"{", b"[]", b"null", b'"a"', b"\xff", b"[" * 100_000, b'{"id": ' + b"9" * 9000]
)
def test_what_is_no_json_object_is_refused_whole(paddock, body):
    with pytest.raises(BadBody) as fault:
        paddock.hear(request(body))
    assert fault.value.path == "body"


def test_characters_that_no_database_takes_are_taken_out(paddock):
    (heard,) = paddock.hear(
        request(b'{"id":"1","from":"2","at":"2026-11-25T00:00Z","text":"a\\u0000b\\ud800c"}')
    )
    assert heard.body == "ab\N{REPLACEMENT CHARACTER}c"
    heard.body.encode()


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(),
        lambda c: (
            st.lists(c)
            | st.dictionaries(
                st.sampled_from(
                    ["id", "from", "text", "at", "media", "position", "lat", "lon", "type", "data"]
                ),
                c,
            )
        ),
        max_leaves=12,
    )
)
def test_any_json_is_heard_or_named(value):
    gateway = Signed("paddock", (new_key(SECRET),))
    assert heard_or_path(gateway, request(json.dumps(value).encode()))


@given(
    st.binary(max_size=200),
    st.dictionaries(
        st.sampled_from(["webhook-id", "webhook-timestamp", "webhook-signature"]),
        st.text(max_size=60),
    ),
)
def test_nothing_unsigned_ever_proves(body, headers):
    gateway = Signed("paddock", (new_key(SECRET),))
    with pytest.raises(BadProof):
        gateway.verify(request(body, headers), NOW)


def carrier(answer, seen=None):
    """A gateway whose carrier answers like this."""

    def respond(asked: httpx.Request) -> httpx.Response:
        if seen is not None:
            seen.append(asked)
        if isinstance(answer, Exception):
            raise answer
        return answer

    client = httpx.Client(transport=httpx.MockTransport(respond))
    return Signed(
        "paddock", (new_key(SECRET), new_key(OLD_SECRET)), "https://sms.example/out", client
    )


def test_sends_what_another_standard_receiver_proves():
    seen: list[httpx.Request] = []
    sent = carrier(httpx.Response(202, json={"id": 77}), seen).send(
        Address("paddock", "+61491570006"), "Near Brindle Hut, 2 km N°", "out-5"
    )
    assert sent.carrier_id == "77"
    body = Webhook(SECRET).verify(seen[0].content, dict(seen[0].headers))
    assert body == {"id": "out-5", "to": "+61491570006", "text": "Near Brindle Hut, 2 km N°"}
    assert seen[0].headers["webhook-id"] == "out-5"


@pytest.mark.parametrize(
    "answer",
    [
        httpx.Response(204),
        httpx.Response(200, text="ok"),
        httpx.Response(200, json=[]),
        httpx.Response(200, json={"id": ""}),
    ],
)
def test_any_2xx_is_a_yes(answer):
    assert carrier(answer).send(Address("paddock", "+61491570006"), "x", "k").carrier_id == ""


@pytest.mark.parametrize(
    ("answer", "reason", "retry"),
    [
        (httpx.Response(301, headers={"location": "https://other.example"}), "http_301", False),
        (httpx.Response(400), "http_400", False),
        (httpx.Response(401), "http_401", False),
        (httpx.Response(410), "http_410", False),
        (httpx.Response(429), "http_429", True),
        (httpx.Response(500), "http_500", True),
        (httpx.Response(503), "http_503", True),
        (httpx.ConnectError("no route"), "unreachable", True),
        (httpx.ReadTimeout("slow"), "timeout", True),
    ],
)
def test_a_no_has_a_reason(answer, reason, retry):
    with pytest.raises(NotSent) as fault:
        carrier(answer).send(Address("paddock", "+61491570006"), "x", "k")
    assert (fault.value.reason, fault.value.retry) == (reason, retry)


def test_without_an_address_nothing_is_sent(paddock):
    with pytest.raises(NotSent) as fault:
        paddock.send(Address("paddock", "+61491570006"), "x", "k")
    assert (fault.value.reason, fault.value.retry) == ("no_send_url", False)


@pytest.mark.parametrize(
    ("row", "env", "words"),
    [
        (GatewayRow("signed"), {}, "needs a name under secrets"),
        (GatewayRow("signed", ("NOT_SET",)), {}, "NOT_SET is not set"),
        (GatewayRow("signed", ("K",)), {"K": "whsec_"}, "24 to 64 bytes"),
        (GatewayRow("signed", ("K",)), {"K": "whsec_c2hvcnQ="}, "24 to 64 bytes"),
        (GatewayRow("signed", ("K",)), {"K": "\N{SNOWMAN}"}, "24 to 64 bytes"),
    ],
)
def test_settings_that_cannot_be_used_are_named(row, env, words):
    with pytest.raises(BadSettings, match=words) as fault:
        open_signed("paddock", row, env)
    assert "paddock" in str(fault.value)


def test_a_row_of_the_programme_opens():
    assert open_signed("paddock", GatewayRow("signed", ("NEW_KEY",)), ENV).methods == {"POST"}


# ----------------------------------------------------------------------------------- reports

REPORTING = GatewayRow("signed", ("NEW_KEY",), options={"reports": "yes"})
FAILED = {"id": "41", "state": "undeliverable", "at": "2026-11-25T07:00:00Z", "reason": "off"}


def reported_or_path(changes: dict):
    body = json.dumps({**FAILED, **changes}).encode()
    try:
        return open_signed("paddock", REPORTING, ENV).reports(request(body))
    except BadBody as fault:
        return fault.path


@pytest.mark.parametrize("state", ["accepted", "delivered", "undeliverable"])
def test_a_report_is_read_whole(state):
    read = reported_or_path({"state": state})
    assert read == (Report("41", state, datetime(2026, 11, 25, 7, tzinfo=UTC), "off"),)


def test_a_report_needs_no_reason():
    (read,) = reported_or_path({"reason": None})
    assert read.reason == ""


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"id": ""}, "id"),
        ({"id": None}, "id"),
        ({"state": "lost"}, "state"),
        ({"state": ["delivered"]}, "state"),
        ({"at": "2026-11-25T07:00:00"}, "at"),
        ({"at": 5}, "at"),
        ({"reason": {"a": 1}}, "reason"),
    ],
)
def test_a_broken_report_is_named(changes, path):
    assert reported_or_path(changes) == path


@given(st.dictionaries(st.sampled_from(list(FAILED)), st.none() | st.integers() | st.text()))
def test_any_report_is_read_or_named(changes):
    read = reported_or_path(changes)
    assert isinstance(read, str) or read[0].state in {"accepted", "delivered", "undeliverable"}


@pytest.mark.parametrize(("reports", "names"), [("yes", ("41",)), ("no", ())])
def test_a_text_out_is_reported_on_under_the_id_it_had(reports, names):
    row = GatewayRow("signed", ("NEW_KEY",), "https://c.example/out", {"reports": reports})
    carrier = httpx.MockTransport(lambda asked: httpx.Response(200, json={"id": "theirs"}))
    gateway = replace(open_signed("paddock", row, ENV), client=httpx.Client(transport=carrier))
    sent = gateway.send(Address("paddock", "+61491570006"), "hello", "41")
    assert (sent.carrier_id, sent.report_ids) == ("theirs", names)
    assert bool(gateway.report_methods) == bool(names)


@pytest.mark.parametrize("options", [{"reports": "perhaps"}, {"report": "yes"}])
def test_an_option_that_is_none_is_refused(options):
    with pytest.raises(BadSettings, match=r"options\.report"):
        open_signed("paddock", GatewayRow("signed", ("NEW_KEY",), options=options), ENV)
