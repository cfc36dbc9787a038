"""A modem's folders: files as gammu-smsd 1.42 writes them (captured with its dummy device)."""

from __future__ import annotations

import os
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.gateways.modem import FOLDERS, SETTLED_S, STUCK_S, Modem, open_modem, read_file
from bot.gateways.protocol import BadSettings, LineDown, NotSent
from bot.messages import Address, Part
from bot.programme import GatewayRow
from tests.gateways.asking import PAYLOADS
from tests.gateways.test_smpp import Notebook

CAPTURED = PAYLOADS / "modem"
LONG = "IN20261125_063200_00_+61491570006_00.txt"
TO = Address("shed", "+61491570006")


@pytest.fixture
def modem(tmp_path: Path) -> Modem:
    options = {name: str(tmp_path / name) for name in FOLDERS}
    for folder in options.values():
        Path(folder).mkdir()
    return open_modem("shed", GatewayRow("modem", options=options), {})


def put(modem: Modem, folder: str, name: str, data: bytes = b"", age_s: float = 60) -> Path:
    path = modem.folders[folder] / name
    path.write_bytes(data)
    os.utime(path, (time.time() - age_s,) * 2)
    return path


def test_a_long_text_comes_as_its_parts(modem: Modem):
    path = Path(shutil.copy(CAPTURED / LONG, modem.folders["inbox"]))
    first, second = read_file(path, "shed")
    assert (first.sender, first.body) == ("+61491570006", "big boar with pus ")
    assert second.body == "under the jaw [left] 5 € 52°"
    assert (first.part, second.part) == (Part(0xAE, 2, 1), Part(0xAE, 2, 2))
    assert first.sent_at == datetime(2026, 11, 25, 6, 32, tzinfo=UTC)
    assert first.id != second.id


def test_what_is_kept_is_deleted_and_what_is_not_stays(modem: Modem):
    shutil.copy(CAPTURED / LONG, put(modem, "inbox", LONG))
    os.utime(modem.folders["inbox"] / LONG, (1, 1))
    with pytest.raises(OSError, match="full"):
        modem.listen(Notebook(fault=OSError("the disk is full")), 0)
    ear = Notebook()
    modem.listen(ear, 0)
    modem.listen(ear, 0)
    assert len(ear.heard) == 2
    assert list(modem.folders["inbox"].iterdir()) == []


def test_a_file_that_is_being_written_is_left(modem: Modem):
    put(modem, "inbox", LONG, (CAPTURED / LONG).read_bytes(), age_s=SETTLED_S / 2)
    ear = Notebook()
    modem.listen(ear, 0)
    assert ear.heard == []


@pytest.mark.parametrize("data", [b"", b"\xff\xfe nonsense", b"[x]\nNumberUnicode = zz", b"[x\n"])
def test_a_broken_file_is_a_text_without_words(modem: Modem, data: bytes):
    (heard,) = read_file(put(modem, "inbox", LONG, data), "shed")
    assert (heard.sender, heard.body, heard.part) == ("+61491570006", "", None)


@given(data=st.binary(max_size=200))
def test_any_file_is_read(tmp_path_factory, data: bytes):
    path = tmp_path_factory.getbasetemp() / LONG
    path.write_bytes(data)
    for heard in read_file(path, "shed"):
        assert heard.sender
        assert heard.id


def test_a_text_out_is_one_file_however_often_it_is_handed_over(modem: Modem):
    for _ in range(2):
        sent = modem.send(TO, "Māori hut [x] \N{BOAR}", "out-12")
    (path,) = modem.folders["outbox"].iterdir()
    assert path.name == "OUTC_+61491570006_000000000012.txtd"
    assert path.read_bytes().decode("utf-16") == "Māori hut [x] \N{BOAR}"
    assert sent.report_ids == ("out-12",)


@pytest.mark.parametrize("number", ["../../x", "INFO", "+1;rm", "", "+61 491 570 006"])
def test_only_a_number_becomes_a_name(modem: Modem, number: str):
    with pytest.raises(NotSent) as refused:
        modem.send(Address("shed", number), "x", "out-1")
    assert (refused.value.reason, refused.value.retry) == ("not_a_number", False)
    assert list(modem.folders["outbox"].iterdir()) == []


def test_what_went_and_what_did_not_is_reported_and_cleared(modem: Modem):
    put(modem, "sent", "OUTC_+61491570006_000000000012.txtd")
    put(modem, "failed", "OUTC_+61491570006_000000000013.txtd")
    put(modem, "sent", "somebody-elses.txt")
    ear = Notebook()
    modem.listen(ear, 0)
    told = [(r.id, r.state, r.reason) for r in ear.reports]
    assert told == [
        ("out-12", "accepted", "modem_sent"),
        ("out-13", "undeliverable", "modem_failed"),
    ]
    assert [p.name for p in modem.folders["sent"].iterdir()] == ["somebody-elses.txt"]


def test_a_modem_that_sends_nothing_is_noticed(modem: Modem):
    put(modem, "outbox", "OUTC_+61491570006_000000000012.txtd", age_s=STUCK_S + 1)
    with pytest.raises(LineDown, match="modem_stuck"):
        modem.listen(Notebook(), 0)
    with pytest.raises(NotSent, match="line_down"):
        modem.send(TO, "x", "out-13")


def test_a_folder_that_is_gone_is_named(modem: Modem):
    modem.folders["outbox"].rmdir()
    with pytest.raises(LineDown, match="no_outbox"):
        modem.open()
    with pytest.raises(NotSent, match="line_down"):
        modem.send(TO, "x", "out-1")


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (GatewayRow("modem"), "options.inbox: missing"),
        (GatewayRow("modem", options={"colour": "red"}), "options.colour: not known"),
        (
            GatewayRow("modem", ("X",), options=dict.fromkeys(FOLDERS, "/tmp")),
            "secrets",
        ),
    ],
)
def test_settings_that_could_not_work_are_named(row: GatewayRow, words: str):
    with pytest.raises(BadSettings, match=words):
        open_modem("shed", row, {})
