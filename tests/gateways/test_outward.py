"""Sending by a row: addresses and bodies filled in safely, and every kind of answer."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest

from bot.gateways.outward import open_outward
from bot.gateways.protocol import BadSettings, NotSent
from bot.messages import Address
from bot.programme import GatewayRow

TO = Address("hill", "+61491570006")
WORDS = 'Near Brindle Hut & 2 km N=yes? 100% "ok"\n€ $to #1'
SENDSMS = {
    "send_method": "GET",
    "send_digits": "yes",
    "send_secret": "PASS",
    # The answers of kannel 1.4.5: 0 accepted, 3 queued for later delivery.
    "accepted": "^[03]: ",
    "carrier_id": "pattern:^([03])",
}
SENDSMS_URL = (
    "http://127.0.0.1:13013/cgi-bin/sendsms?username=bush&password=$secret&to=$to&text=$text"
)


def outward(answer: httpx.Response, url: str, options: dict[str, str]):
    seen: list[httpx.Request] = []
    row = GatewayRow("fields", (), url, options)
    built = open_outward(row, {"PASS": "p&ss word"})

    def respond(asked: httpx.Request) -> httpx.Response:
        seen.append(asked)
        return answer

    client = httpx.Client(transport=httpx.MockTransport(respond))
    return replace(built, client=client), seen


def test_a_get_carries_the_very_words():
    carrier, seen = outward(
        httpx.Response(202, text="0: Accepted for delivery"), SENDSMS_URL, SENDSMS
    )
    assert carrier.send(TO, WORDS, "k").carrier_id == "0"
    query = parse_qs(urlsplit(str(seen[0].url)).query)
    assert query == {
        "username": ["bush"],
        "password": ["p&ss word"],
        "to": ["61491570006"],
        "text": [WORDS],
    }


def test_a_form_carries_the_very_words():
    options = {
        "send_body": "to=$to&text=$text&ref=$key",
        "send_secret": "PASS",
        "send_auth": "bearer",
    }
    carrier, seen = outward(httpx.Response(200), "https://sms.example/send", options)
    carrier.send(TO, WORDS, "k-1")
    assert parse_qs(seen[0].content.decode()) == {
        "to": ["+61491570006"],
        "text": [WORDS],
        "ref": ["k-1"],
    }
    assert seen[0].headers["authorization"] == "Bearer p&ss word"
    assert seen[0].headers["content-type"] == "application/x-www-form-urlencoded"


def test_json_carries_the_very_words_and_gives_an_id():
    options = {
        "send_type": "json",
        "send_body": '{"to": [$to], "text": $text}',
        "carrier_id": "json:texts.0.id",
        "send_auth": "header:X-Pass",
        "send_secret": "PASS",
    }
    answer = httpx.Response(201, json={"texts": [{"id": 41}]})
    carrier, seen = outward(answer, "https://sms.example/send", options)
    assert carrier.send(TO, WORDS, "k").carrier_id == "41"
    assert httpx.Response(200, content=seen[0].content).json() == {
        "to": ["+61491570006"],
        "text": WORDS,
    }
    assert seen[0].headers["x-pass"] == "p&ss word"


@pytest.mark.parametrize("answer", ["", "[]", "{}", '{"texts": []}', '{"texts": [{"id": null}]}'])
def test_an_answer_without_an_id_is_still_a_yes(answer):
    options = {"send_body": "t=$text", "carrier_id": "json:texts.0.id"}
    carrier, _ = outward(httpx.Response(200, text=answer), "https://sms.example", options)
    assert carrier.send(TO, "x", "k").carrier_id == ""


@pytest.mark.parametrize(
    ("answer", "reason", "retry"),
    [
        (httpx.Response(200, text="1: Some routing problem"), "refused", False),
        (httpx.Response(503, text="4: Temporal failure"), "http_503", True),
        (httpx.Response(403), "http_403", False),
    ],
)
def test_a_no_has_a_reason(answer, reason, retry):
    carrier, _ = outward(answer, SENDSMS_URL, SENDSMS)
    with pytest.raises(NotSent) as fault:
        carrier.send(TO, "x", "k")
    assert (fault.value.reason, fault.value.retry) == (reason, retry)


@pytest.mark.parametrize(
    ("url", "options", "words"),
    [
        ("https://x.example/$who", {}, "send_url: a . that is none of"),
        ("https://x.example/$", {}, "send_url"),
        ("https://x.example", {"send_body": "${"}, "send_body"),
        ("https://x.example", {"send_method": "PUT"}, "send_method"),
        ("https://x.example", {"send_type": "xml"}, "send_type"),
        ("https://x.example", {"accepted": "("}, "accepted"),
        ("https://x.example", {"carrier_id": "pattern:no group"}, "one group"),
        ("https://x.example", {"carrier_id": "xml:a"}, "carrier_id"),
        ("https://x.example", {"send_auth": "digest"}, "send_auth"),
        ("https://x.example", {"send_secret": "UNSET"}, "UNSET"),
    ],
)
def test_settings_that_could_not_work_are_named(url, options, words):
    with pytest.raises(BadSettings, match=words):
        open_outward(GatewayRow("fields", (), url, options), {})


@pytest.mark.parametrize(
    ("words", "options", "coding"),
    [
        ("pus [left] €", {}, "0"),
        ("Māori hut", {}, "2"),
        ("pus", {"send_plain": "text", "send_wide": "unicode"}, "text"),
        ("52°", {"send_plain": "text", "send_wide": "unicode"}, "unicode"),
    ],
)
def test_a_carrier_is_told_which_alphabet_a_text_takes(words, options, coding):
    row = GatewayRow("fields", ("TOKEN",), "http://c.example/?c=$coding&t=$token", options)
    seen: list[httpx.Request] = []
    client = httpx.Client(
        transport=httpx.MockTransport(lambda asked: seen.append(asked) or httpx.Response(200))
    )
    replace(open_outward(row, {"TOKEN": "a b"}), client=client).send(TO, words, "k")
    assert seen[0].url.query.decode() == f"c={coding}&t=a%20b"
