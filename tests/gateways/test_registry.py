"""The table of gateways, and the two that need no carrier."""

from __future__ import annotations

import pytest

from bot.gateways.chat import open_chat
from bot.gateways.paper import Note, open_paper
from bot.gateways.protocol import BadBody, BadProof, BadSettings
from bot.gateways.registry import GATEWAYS, open_gateways
from bot.messages import Address
from bot.programme import GatewayRow
from tests.gateways.asking import ENV, NOW, PAYLOADS, request, signed

TO = Address("paddock", "+61491570006")


def test_rows_of_a_programme_open_by_name():
    rows = {"paddock": GatewayRow("signed", ("NEW_KEY",)), "chat": GatewayRow("chat")}
    assert list(open_gateways(rows, ENV)) == ["paddock", "chat"]


def test_an_unknown_kind_is_named():
    with pytest.raises(BadSettings, match="gateway smoke: kind 'smoke' is none of signed"):
        open_gateways({"smoke": GatewayRow("smoke")}, ENV)


def test_every_kind_has_its_row():
    assert set(GATEWAYS) == {"signed", "fields", "smpp", "modem", "chat", "paper"}


def test_no_carrier_speaks_for_the_chat():
    chat = open_chat("chat", GatewayRow("chat"), {})
    with pytest.raises(BadProof):
        chat.verify(request(), NOW)
    with pytest.raises(BadBody):
        chat.hear(request())
    assert chat.send(Address("chat", "abc"), "x", "k").carrier_id == "k"


def test_paper_hears_signed_texts_and_keeps_what_it_sends():
    paper = open_paper("paddock", GatewayRow("paper", ("NEW_KEY",)), ENV)
    body = (PAYLOADS / "signed" / "bare.json").read_bytes()
    paper.verify(signed(body), NOW)
    with pytest.raises(BadProof):
        paper.verify(request(body), NOW)
    assert paper.hear(request(body))[0].body == "yes"
    for key in ("k1", "k1", "k2"):
        paper.send(TO, "x", key)
    assert paper.sent == [Note(TO, "x", "k1"), Note(TO, "x", "k2")]
