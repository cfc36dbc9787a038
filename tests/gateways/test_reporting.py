"""Delivery reports and lists and parts of texts by settings, from payloads of varied shapes."""

from __future__ import annotations

from datetime import UTC, datetime
from urllib.parse import parse_qsl

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bot.gateways.fields import Fields, open_fields
from bot.gateways.outward import Outward
from bot.gateways.protocol import BadBody, BadSettings, NotSent, Report
from bot.messages import Address, Part
from bot.programme import GatewayRow
from tests.gateways.asking import PAYLOADS, request

FOLDER = PAYLOADS / "fields"
ANYBODY = {"addresses": "127.0.0.1"}
BATCH = {
    "each": "json:deliveries",
    "from": "item:origin.msisdn",
    "text": "item:words",
    "id": "item:no",
    "at": "item:stamp",
    "to": "item:dest",
}
PARTS = {
    "each": "json:",
    "from": "item:num",
    "text": "item:msg",
    "at": "item:ts",
    "at_form": "unix",
    "to": "item:to",
    "part_ref": "item:ref",
    "part_total": "item:parts",
    "part_number": "item:part",
}
HEADED = {
    "from": "form:Originator",
    "text": "form:Content",
    "id": "form:Ref",
    "at": "form:When",
    "at_form": "%d/%m/%Y %H:%M",
    "at_zone": "Australia/Melbourne",
    "part_header": "form:Udh",
}
BY_KEY = {
    "from": "query:from",
    "text": "query:text",
    "id": "query:id",
    "method": "GET",
    "report_key": "query:id",
    "report_state": "query:state",
    "report_at": "query:at",
    "report_at_form": "unix",
    # The states of kannel's delivery reports, by its user guide: 1 delivered, 2 not delivered,
    # 4 queued, 8 taken by the carrier, 16 refused by the carrier.
    "report_delivered": "1",
    "report_undeliverable": "2|16",
}
BY_ID = {
    "from": "json:from",
    "text": "json:text",
    "id": "json:id",
    "report_each": "json:results",
    "report_id": "item:handle",
    "report_state": "item:outcome",
    "report_reason": "item:fault.words",
    "report_at": "item:when",
    "report_delivered": "DELIVERED",
    "report_undeliverable": "EXPIRED|REJECTED|DELETED",
}


def opened(options: dict[str, str]) -> Fields:
    return open_fields("hill", GatewayRow("fields", options={**options, **ANYBODY}), {})


def test_every_text_of_a_list_is_heard():
    first, second = opened(BATCH).hear(request((FOLDER / "batch.json").read_bytes()))
    assert (first.id, first.sender) == ("b7-0001", "61491570156")
    assert (second.id, second.body) == ("b7-0002", "52°39' N, Māori hut")
    assert first.sent_at == datetime(2026, 11, 24, 19, 37, 4, tzinfo=UTC)
    assert first.part is None


def test_parts_are_told_from_whole_texts():
    two, one, alone = opened(PARTS).hear(request((FOLDER / "parts.json").read_bytes()))
    assert two.part == Part(4711, 2, 2, "+61491570999")
    assert one.part == replace(two.part, number=1)
    assert alone.part is None
    assert len({two.id, one.id, alone.id}) == 3


def test_a_part_is_known_by_its_header():
    (heard,) = opened(HEADED).hear(request((FOLDER / "headed.body").read_bytes()))
    assert (heard.part, heard.body) == (Part(0xAE, 2, 1), "pus in the gland ")
    whole = b"Originator=1&Content=x&Udh=&Ref=1&When=25%2F11%2F2026+17%3A37"
    assert opened(HEADED).hear(request(whole))[0].part is None


@pytest.mark.parametrize(
    ("options", "body", "path"),
    [
        (BATCH, b'{"deliveries": {}}', "deliveries"),
        (BATCH, b'{"deliveries": [{"no": "1"}]}', "origin.msisdn"),
        (BATCH, b'{"deliveries": [' + b",".join([b"{}"] * 201) + b"]}", "deliveries"),
        (BATCH, b"[]", "deliveries"),
        (PARTS, b"{}", "body"),
        (PARTS, b"[3]", "num"),
        (PARTS, b'[{"num":"1","msg":"x","ts":1,"ref":1,"parts":2,"part":3}]', "part"),
        (PARTS, b'[{"num":"1","msg":"x","ts":1,"ref":1,"parts":2,"part":1.5}]', "part"),
        (PARTS, b'[{"num":"1","msg":"x","ts":1,"ref":70000,"parts":2,"part":1}]', "ref"),
        (HEADED, b"Originator=1&Content=x&Udh=zz&Ref=1&When=25%2F11%2F2026+17%3A37", "Udh"),
    ],
)
def test_a_list_or_part_that_is_none_is_named(options, body, path):
    with pytest.raises(BadBody) as fault:
        opened(options).hear(request(body))
    assert fault.value.path == path


def test_a_report_by_our_own_key():
    query = dict(parse_qsl((FOLDER / "report.query").read_text()))
    gateway = opened(BY_KEY)
    taken = gateway.reports(request(query=query, method="GET"))
    at = datetime(2026, 11, 25, 6, 37, 20, tzinfo=UTC)
    assert taken == (Report("out-41", "accepted", at, "8"),)
    assert gateway.report_methods == {"GET"}
    for state, meant in (("1", "delivered"), ("2", "undeliverable"), ("16", "undeliverable")):
        (report,) = gateway.reports(request(query={**query, "state": state}))
        assert report.state == meant


def test_several_reports_by_the_carriers_id():
    taken = opened(BY_ID).reports(request((FOLDER / "reports.json").read_bytes()))
    assert [(r.id, r.state, r.reason) for r in taken] == [
        ("5c2e", "delivered", "DELIVERED"),
        ("5c2f", "undeliverable", "absent subscriber"),
        ("5c30", "accepted", "BUFFERED"),
    ]


def test_a_gateway_without_report_settings_takes_none():
    assert opened(BATCH).report_methods == frozenset()


@pytest.mark.parametrize(
    ("options", "names"), [(BY_KEY, ("out-7",)), (BY_ID, ("9f",)), (BATCH, ())]
)
def test_a_text_is_reported_on_under_the_name_that_the_carrier_will_use(options, names):
    gateway = opened({**options, "carrier_id": "json:handle"})
    answer = httpx.Response(200, json={"handle": "9f"})
    client = httpx.Client(transport=httpx.MockTransport(lambda asked: answer))
    outward = Outward("http://carrier.example", gateway.options, client=client)
    sending = Fields(**{**{n: getattr(gateway, n) for n in Fields.__slots__}, "outward": outward})
    assert sending.send(Address("hill", "+61491570006"), "x", "out-7").report_ids == names


def test_an_answer_may_ask_for_another_try():
    options = {"accepted": "^0", "later": "^4"}
    answers = iter([httpx.Response(200, text="4: busy"), httpx.Response(200, text="5: no")])
    client = httpx.Client(transport=httpx.MockTransport(lambda asked: next(answers)))
    outward = Outward("http://carrier.example", options, client=client)
    tries = []
    for _ in range(2):
        with pytest.raises(NotSent) as fault:
            outward.send(Address("hill", "1"), "x", "k")
        tries.append((fault.value.reason, fault.value.retry))
    assert tries == [("refused_for_now", True), ("refused", False)]


def changed(options: dict[str, str], **changes: str | None) -> dict[str, str]:
    return {k: v for k, v in {**options, **changes}.items() if v is not None}


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (changed(BATCH, each=None), "item of no list"),
        (changed(BATCH, each="query:x"), "options.each"),
        (changed(PARTS, part_total=None), "options.part_total: missing"),
        (changed(PARTS, part_header="item:udh"), "options.part_header"),
        (changed(BY_ID, report_state=None), "needs options.report_state"),
        (changed(BY_ID, report_id=None), "options.report_id"),
        (changed(BY_ID, report_key="item:key"), "options.report_id"),
        (changed(BY_ID, report_delivered=None), "options.report_delivered: missing"),
        (changed(BY_ID, report_undeliverable="("), "options.report_undeliverable"),
        (changed(BY_ID, report_method="PUT"), "options.report_method"),
        (changed(BY_ID, report_each=None), "item of no list"),
        (changed(BY_ID, later="("), "later"),
    ],
)
def test_settings_that_could_not_work_are_named(options, words):
    with pytest.raises(BadSettings, match=words) as fault:
        opened(options)
    assert str(fault.value).startswith("gateway hill: ")


def path_or_none(take, asked) -> str | None:
    """The field that a gateway names as at fault, None if it takes the request."""
    try:
        take(asked)
    except BadBody as fault:
        return fault.path
    return None


@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)))
def test_any_request_is_taken_or_named(body):
    asked = request(body, query={"id": "1", "state": "2", "at": "9"})
    for options in (BY_KEY, BY_ID):
        assert path_or_none(opened(options).reports, asked) != ""
    for options in (BATCH, PARTS, HEADED):
        assert path_or_none(opened(options).hear, asked) != ""
