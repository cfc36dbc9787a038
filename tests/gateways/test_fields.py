"""Rows of settings: each shape of request heard, each kind of proof refused and accepted."""

from __future__ import annotations

import base64
import hashlib
import hmac
from datetime import UTC, datetime
from urllib.parse import parse_qsl

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.gateways.fields import open_fields
from bot.gateways.proof import body_hmac
from bot.gateways.protocol import BadBody, BadProof, BadSettings
from bot.messages import Pin
from bot.programme import GatewayRow
from tests.gateways.asking import NOW, PAYLOADS, heard_or_path, request

ENV = {"TOKEN": "hut-on-the-hill", "LOGIN": "saddle:rainy day", "NEXT": "next-token"}
GET_URL = GatewayRow(
    "fields",
    ("TOKEN",),
    options={
        "method": "GET",
        "from": "query:from",
        "text": "query:text",
        "id": "query:id",
        "at": "query:ts",
        "at_form": "unix",
        "proof": "query:token",
        "addresses": "127.0.0.1 10.7.0.0/16",
    },
)
NESTED = GatewayRow(
    "fields",
    ("TOKEN",),
    options={
        "from": "json:messages.0.sender.number",
        "text": "json:messages.0.content.plain",
        "id": "json:messages.0.ref",
        "at": "json:messages.0.received_ms",
        "at_form": "unix_ms",
        "lat": "json:messages.0.gps.y",
        "lon": "json:messages.0.gps.x",
        "proof": "hmac:X-Body-Hash",
        "hmac_prefix": "sha256=",
    },
)
FORM = GatewayRow(
    "fields",
    ("LOGIN",),
    options={
        "from": "form:Sender",
        "text": "form:Message",
        "id": "form:Ref",
        "at": "form:Stamp",
        "at_form": "%Y-%m-%d %H:%M:%S",
        "at_zone": "Australia/Melbourne",
        "proof": "basic",
    },
)


def kannel_query() -> dict[str, str]:
    """A get-url request of kannel 1.4.5, as captured from Debian's package (standards, §7)."""
    return dict(parse_qsl((PAYLOADS / "fields" / "get_url.query").read_text()))


def with_options(row: GatewayRow, **changes: str | None) -> GatewayRow:
    options = {**row.options, **{k: v for k, v in changes.items() if v is not None}}
    for gone in [k for k, v in changes.items() if v is None]:
        options.pop(gone)
    return GatewayRow(row.kind, row.secrets, row.send_url, options)


def test_a_query_is_heard():
    gateway = open_fields("hill", GET_URL, ENV)
    asked = request(query=kannel_query(), method="GET")
    gateway.verify(asked, NOW)
    (heard,) = gateway.hear(asked)
    assert heard.sender == "+447700900123"
    assert heard.body == "Lump in throat of a sow -36.87 147.15"
    assert heard.id == "5f6f1c9e-1d25-4b2e-9a63-0f0f6f2f8a11"
    assert heard.sent_at == datetime(2026, 11, 25, 6, 37, 4, tzinfo=UTC)
    assert gateway.methods == {"GET"}


def test_nested_json_is_heard():
    body = (PAYLOADS / "fields" / "nested.json").read_bytes()
    (heard,) = open_fields("n", NESTED, ENV).hear(request(body))
    assert (heard.sender, heard.body, heard.id) == ("61491570156", "yes, on my way", "90071992")
    assert heard.sent_at == datetime(2026, 11, 25, 6, 37, 4, 123000, tzinfo=UTC)
    assert heard.pin == Pin(-36.72, 147.05)


def test_a_form_is_heard_in_its_zone():
    body = (PAYLOADS / "fields" / "form.body").read_bytes()
    (heard,) = open_fields("f", FORM, ENV).hear(request(body))
    assert (heard.sender, heard.id) == ("0491 570 157", "771")
    assert heard.body == "can't today, ute is bogged"
    # Melbourne is 11 hours ahead of UTC in November.
    assert heard.sent_at == datetime(2026, 11, 24, 20, 5, 12, tzinfo=UTC)


def test_a_raw_body_with_headers_is_heard():
    # kannel's post-url: the text alone in the body, the rest in headers, the id in the address.
    row = GatewayRow(
        "fields",
        (),
        options={
            "from": "header:X-Kannel-From",
            "text": "body:",
            "id": "query:id",
            "at": "header:X-Kannel-Time",
            "at_form": "%Y-%m-%d %H:%M:%S",
            "at_zone": "UTC",
            "addresses": "127.0.0.1",
        },
    )
    headers = {"x-kannel-from": "447700900123", "x-kannel-time": "2026-11-25 06:37:42"}
    asked = request("Sau, 52°39'".encode(), headers, {"id": "9"})
    (heard,) = open_fields("k", row, ENV).hear(asked)
    assert (heard.body, heard.sent_at.second) == ("Sau, 52°39'", 42)


def test_a_carrier_without_ids_still_knows_a_repeat():
    gateway = open_fields("hill", with_options(GET_URL, id=None), ENV)
    query = kannel_query()
    first, again = (gateway.hear(request(query=query))[0].id for _ in range(2))
    other = gateway.hear(request(query={**query, "ts": "1795588625"}))[0].id
    assert first == again != other


def test_a_carrier_without_time_gives_the_arrival():
    gateway = open_fields("hill", with_options(GET_URL, at=None), ENV)
    assert gateway.hear(request(query=kannel_query()))[0].sent_at == NOW


@pytest.mark.parametrize("field", ["from", "text", "id", "ts"])
def test_a_missing_field_is_named_as_the_carrier_names_it(field):
    query = {k: v for k, v in kannel_query().items() if k != field}
    with pytest.raises(BadBody) as fault:
        open_fields("hill", GET_URL, ENV).hear(request(query=query))
    assert str(fault.value) == f"{field}: missing"


@pytest.mark.parametrize(
    ("body", "path"),
    [
        (b"{}", "messages.0.sender.number"),
        (b'{"messages": []}', "messages.0.sender.number"),
        (b'{"messages": "no"}', "messages.0.sender.number"),
        (b'{"messages": [{"sender": {"number": 1}, "content": 4}]}', "messages.0.content.plain"),
        (b"not json", "body"),
    ],
)
def test_a_path_that_leads_nowhere_is_named(body, path):
    with pytest.raises(BadBody) as fault:
        open_fields("n", NESTED, ENV).hear(request(body))
    assert fault.value.path == path


@pytest.mark.parametrize("given_at", ["soon", "-5", "nan", "9" * 30, ""])
def test_a_time_that_is_none_is_named(given_at):
    with pytest.raises(BadBody) as fault:
        open_fields("hill", GET_URL, ENV).hear(request(query={**kannel_query(), "ts": given_at}))
    assert fault.value.path == "ts"


@pytest.mark.parametrize(
    ("remote", "token", "proves"),
    [
        ("127.0.0.1", "hut-on-the-hill", True),
        ("10.7.3.4", "hut-on-the-hill", True),
        ("::ffff:127.0.0.1", "hut-on-the-hill", True),
        ("10.8.0.1", "hut-on-the-hill", False),
        ("", "hut-on-the-hill", False),
        ("127.0.0.1", "hut-on-the-hil", False),
        ("127.0.0.1", "", False),
        ("127.0.0.1", "caf\N{LATIN SMALL LETTER E WITH ACUTE}", False),
        ("127.0.0.1", None, False),
    ],
)
def test_address_and_token_must_both_hold(remote, token, proves):
    query = {**kannel_query(), "token": token}
    if token is None:
        del query["token"]
    asked, gateway = request(query=query, remote=remote), open_fields("hill", GET_URL, ENV)
    if proves:
        gateway.verify(asked, NOW)
    else:
        with pytest.raises(BadProof):
            gateway.verify(asked, NOW)


def test_every_token_of_a_rotation_proves():
    gateway = open_fields("hill", GatewayRow("fields", ("TOKEN", "NEXT"), "", GET_URL.options), ENV)
    for token in ("hut-on-the-hill", "next-token"):
        gateway.verify(request(query={"token": token}), NOW)


@pytest.mark.parametrize(
    ("place", "headers", "body"),
    [
        ("header:X-Token", {"x-token": "hut-on-the-hill"}, b""),
        ("form:token", {}, b"token=hut-on-the-hill"),
        ("json:auth.token", {}, b'{"auth": {"token": "hut-on-the-hill"}}'),
    ],
)
def test_a_token_may_stand_anywhere(place, headers, body):
    gateway = open_fields("n", with_options(NESTED, proof=place), ENV)
    gateway.verify(request(body, headers), NOW)
    with pytest.raises(BadProof):
        gateway.verify(request(), NOW)


@pytest.mark.parametrize(
    ("header", "proves"),
    [
        ("Basic " + base64.b64encode(b"saddle:rainy day").decode(), True),
        ("basic " + base64.b64encode(b"saddle:rainy day").decode(), True),
        ("Basic " + base64.b64encode(b"saddle:dry day").decode(), False),
        ("Basic saddle:rainy day", False),
        ("Bearer x", False),
        ("", False),
    ],
)
def test_basic_authentication(header, proves):
    gateway = open_fields("f", FORM, ENV)
    asked = request(headers={"authorization": header})
    if proves:
        gateway.verify(asked, NOW)
    else:
        with pytest.raises(BadProof):
            gateway.verify(asked, NOW)


@pytest.mark.parametrize(
    ("key", "body", "digest"),
    [
        # RFC 4231, test cases 1 and 2 (HMAC-SHA256).
        (
            "\x0b" * 20,
            b"Hi There",
            "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7",
        ),
        (
            "Jefe",
            b"what do ya want for nothing?",
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
        ),
    ],
)
def test_the_published_hmac_vectors_prove(key, body, digest):
    assert body_hmac(key, body, "hex") == digest
    gateway = open_fields("n", NESTED, {"TOKEN": key})
    gateway.verify(request(body, {"x-body-hash": f"sha256={digest}"}), NOW)
    for wrong in (digest, f"sha256={digest[:-1]}0", "", f"sha1={digest}"):
        with pytest.raises(BadProof):
            gateway.verify(request(body, {"x-body-hash": wrong}), NOW)
    with pytest.raises(BadProof):
        gateway.verify(request(body + b" ", {"x-body-hash": f"sha256={digest}"}), NOW)


def test_hmac_as_base64():
    gateway = open_fields("n", with_options(NESTED, hmac_form="base64", hmac_prefix=None), ENV)
    made = base64.b64encode(hmac.new(b"hut-on-the-hill", b"x", hashlib.sha256).digest()).decode()
    gateway.verify(request(b"x", {"x-body-hash": made}), NOW)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (with_options(GET_URL, text=None), "options.text: missing"),
        (with_options(GET_URL, id=None, at=None), "cannot be told"),
        (with_options(GET_URL, colour="red"), "options.colour: not known"),
        (with_options(GET_URL, text="cookie:text"), "options.text"),
        (with_options(GET_URL, text="query"), "options.text"),
        (with_options(GET_URL, method="PUT"), "options.method"),
        (with_options(GET_URL, proof=None), "need each other"),
        (GatewayRow("fields", (), "", {**FORM.options}), "need each other"),
        (
            GatewayRow("fields", (), "", {k: v for k, v in FORM.options.items() if k != "proof"}),
            "anybody",
        ),
        (with_options(GET_URL, proof="magic"), "options.proof"),
        (with_options(NESTED, hmac_form="octal"), "options.hmac_form"),
        (with_options(NESTED, method="GET"), "GET has none"),
        (with_options(GET_URL, addresses="127.0.0.300"), "options.addresses"),
        (with_options(FORM, at_zone="Mars/Base"), "options.at_zone"),
        (GatewayRow("fields", ("UNSET",), "", GET_URL.options), "UNSET is not set"),
    ],
)
def test_settings_that_could_not_work_are_named(row, words):
    with pytest.raises(BadSettings, match=words) as fault:
        open_fields("hill", row, ENV)
    assert str(fault.value).startswith("gateway hill: ")


@given(
    st.binary(max_size=300), st.dictionaries(st.text(max_size=8), st.text(max_size=20), max_size=4)
)
def test_any_request_is_heard_or_named(body, query):
    for row in (GET_URL, NESTED, FORM):
        assert heard_or_path(open_fields("x", row, ENV), request(body, query=query))
