"""A hunter's find by SMPP, from a carrier that nobody here wrote (smpp34's server) through
`carry` to the database and back: long texts, receipts, a line that is cut.
"""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.commands.carry import Carrier, carrier_of, keep_line
from bot.commands.opening import Opened
from bot.gateways.registry import open_gateways
from bot.gateways.userdata import decode_gsm, encode_gsm, read_header, split
from bot.programme import GatewayRow, Programme
from bot.service.database import Database, open_database
from bot.service.wiring import open_intake
from tests.carriers.house import texts_in, texts_out, until
from tests.gateways.smsc import Smsc
from tests.web.wires import DIALOG

HUNTER = "61491570156"
FIND = (
    "G'day shot a big boar last nite about 9, pus in the gland under the jaw left side [lump]. "
    "3km nw of Brindle Hut. Heads double bagged in the freezer at Kerrin Flat depot. State forest"
)


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture
def smsc() -> Iterator[Smsc]:
    carrier = Smsc()
    yield carrier
    carrier.close()


@pytest.fixture
def carrier(tmp_path: Path, programme: Programme, smsc: Smsc) -> Iterator[Carrier]:
    database = open_database(f"sqlite:///{tmp_path / 'bushpost.sqlite3'}")
    options = {"system_id": "bush", "source": "61491570999"}
    row = GatewayRow("smpp", ("PASS",), f"smpp://127.0.0.1:{smsc.port}", options)
    gateways = open_gateways({"ridge": row}, {"PASS": "ridgepw"})
    made = carrier_of(Opened(open_intake(database, DIALOG, programme), gateways, DIALOG), "ridge")
    stop = threading.Event()
    worker = threading.Thread(target=keep_line, args=(made, stop), daemon=True)
    worker.start()
    yield made
    stop.set()
    worker.join(timeout=10)
    database.close()


def receipt(id: str, stat: str) -> bytes:
    """SMPP 3.4, appendix B."""
    return f"id:{id} sub:001 dlvrd:001 stat:{stat} err:000 text:x".encode()


def test_a_find_by_smpp_is_answered_and_the_answers_are_reported(
    smsc: Smsc, carrier: Carrier
) -> None:
    database = carrier.opened.intake.database
    parts = split(FIND, 0xAE).parts
    assert len(parts) == 2
    for part in reversed(parts):
        assert smsc.deliver(HUNTER, part, esm_class=0x40).result(10).is_success
    until(lambda: texts_in(database), "the find to be kept")
    assert texts_in(database) == [(f"+{HUNTER}", FIND)]
    until(lambda: all(state == "sent" for *_, state, _ in texts_out(database)), "replies to go")
    out = texts_out(database)
    assert spoken(smsc) == [body for _, body, _, _ in out]
    for number in range(1, len(smsc.submitted) + 1):
        answer = smsc.deliver(HUNTER, receipt(f"c-{number}", "DELIVRD"), esm_class=0x04)
        assert answer.result(10).is_success
    assert {report for *_, report in texts_out(database)} == {"delivered"}
    assert len(texts_in(database)) == 1


def test_a_line_that_is_cut_is_opened_again_and_brings_the_rest(
    smsc: Smsc, carrier: Carrier
) -> None:
    database = carrier.opened.intake.database
    assert smsc.deliver(HUNTER, encode_gsm("boar with pus")).result(10).is_success
    until(lambda: nothing_waits(database), "replies to go")
    smsc.forget()
    carrier.line._links[0]._client._socket.shutdown(socket.SHUT_RDWR)
    # Brought again, as by a carrier whose answer was lost, and then something new.
    assert smsc.deliver(HUNTER, encode_gsm("boar with pus")).result(20).is_success
    assert smsc.deliver(HUNTER, encode_gsm("at Brindle Hut")).result(10).is_success
    assert [body for _, body in texts_in(database)] == ["boar with pus", "at Brindle Hut"]
    until(lambda: nothing_waits(database), "replies to go")


def nothing_waits(database: Database) -> bool:
    return "waiting" not in {state for *_, state, _ in texts_out(database)}


def spoken(smsc: Smsc) -> list[str]:
    """What was submitted, parts joined as a telephone joins them."""
    whole, parts = [], []
    for text in smsc.submitted:
        header, words = read_header(text.short_message) if text.esm_class else (None, b"")
        parts.append(decode_gsm(words if header else text.short_message))
        if header is None or header.number == header.total:
            whole.append("".join(parts))
            parts = []
    return whole
