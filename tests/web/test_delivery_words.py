"""What the find's card says beside a text out, and that every reason of sending has words."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bot.service.desk_rows import Line
from bot.service.joining import INCOMPLETE
from bot.service.limits import CAP_HUNTER, CAP_PROGRAMME, HELD
from bot.web.card import _delivery
from bot.web.wiring import Wiring
from tests.web.wires import WORDS, client_of, make_wiring

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"state": "waiting"}, "2 segments, not sent yet"),
        ({"state": "waiting", "error": "timeout"}, "2 segments, not sent yet"),
        ({"state": "waiting", "error": "quiet_hours"}, "2 segments, waits for the morning"),
        ({"state": "sent"}, "2 segments, sent"),
        # 07:00 UTC is 18:00 in Melbourne, 11 hours ahead in summer.
        (
            {"state": "sent", "report": "delivered", "reported_at": AT},
            "2 segments, arrived Wed 25 Nov, 18:00",
        ),
        (
            {"state": "sent", "report": "undeliverable", "reported_at": AT, "error": "absent"},
            "2 segments, did not arrive Wed 25 Nov, 18:00 (absent)",
        ),
        ({"state": "failed", "error": "http_400"}, "2 segments, could not be sent (http_400)"),
        ({"state": "withdrawn", "error": "by_voice"}, "2 segments, to be said aloud"),
    ],
)
def test_a_texts_delivery_is_said(fields, words) -> None:
    wiring: Wiring = make_wiring()
    line = Line(id="out-1", inward=False, at=AT, body="x", segments=2, **fields)
    with client_of(wiring).application.app_context():
        assert _delivery(line, wiring) == words


def test_every_reason_of_sending_and_joining_has_words() -> None:
    assert {CAP_HUNTER, CAP_PROGRAMME, INCOMPLETE} <= set(WORDS.sections["reason"])
    assert set(HELD) <= set(WORDS.sections["delivery"])
