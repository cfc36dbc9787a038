"""SMPP against a carrier that nobody here wrote (smpp34's server), and PDUs by its own encoder.

Figures are SMPP 3.4's, by section where they are used.
"""

from __future__ import annotations

import ssl
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
import smpp34
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from hypothesis import given
from hypothesis import strategies as st
from smpplib import smpp as smpplib_pdus
from smpplib.client import SimpleSequenceGenerator

from bot.gateways import smpp_link, smpp_text
from bot.gateways.protocol import LineDown, NotSent, Report
from bot.gateways.receipts import read_receipt
from bot.gateways.smpp import Smpp, open_smpp
from bot.gateways.userdata import decode_gsm, decode_ucs2, encode_gsm, read_header, split
from bot.messages import Address, Heard, Part
from bot.programme import GatewayRow
from tests.gateways.asking import NOW
from tests.gateways.smsc import Smsc, Stub, free_port

TO = Address("ridge", "+61491570006")
HUNTER = "61491570156"


@dataclass
class Notebook:
    heard: list[Heard] = field(default_factory=list)
    reports: list[Report] = field(default_factory=list)
    fault: Exception | None = None

    def hear(self, heard: Heard) -> None:
        if self.fault:
            raise self.fault
        self.heard.append(heard)

    def report(self, report: Report) -> None:
        self.reports.append(report)


def row(port: int, **options: str) -> GatewayRow:
    known = {"system_id": "bush", "source": "61491570999"} | options
    return GatewayRow("smpp", ("PASS",), f"smpp://127.0.0.1:{port}", known)


def opened(port: int, **options: str) -> Smpp:
    return open_smpp("ridge", row(port, **options), {"PASS": "hut hill"})


@pytest.fixture(scope="module")
def smsc():
    carrier = Smsc()
    yield carrier
    carrier.close()


@pytest.fixture
def line(smsc: Smsc):
    smsc.submitted.clear()
    smsc.forget()
    smsc.answer = lambda text: f"c-{len(smsc.submitted)}"
    gateway = opened(smsc.port)
    gateway.open()
    yield gateway
    gateway.close()


def listen(gateway: Smpp, ear: Notebook, until, seconds: float = 5) -> None:
    end = time.monotonic() + seconds
    while not until() and time.monotonic() < end:
        gateway.listen(ear, 0.05)


def test_a_text_goes_out_with_its_number_and_alphabet(smsc: Smsc, line: Smpp):
    sent = line.send(TO, "Gloves on. Bag the head €1", "out-7")
    (text,) = smsc.submitted
    assert (sent.carrier_id, sent.report_ids) == ("c-1", ("c-1",))
    assert (text.destination_addr, text.dest_addr_ton, text.dest_addr_npi) == (
        HUNTER[:-3] + "006",
        1,
        1,
    )
    assert (text.source_addr, text.data_coding, text.esm_class) == ("61491570999", 0, 0)
    assert text.registered_delivery == 1
    assert decode_gsm(text.short_message) == "Gloves on. Bag the head €1"


@pytest.mark.parametrize(
    "body",
    ["a" * 159 + "[" * 30, "Māori hut " * 30, "\N{BOAR}" * 90],
    ids=["7bit", "ucs2", "pairs"],
)
def test_a_long_text_goes_out_in_parts_that_are_it_again(smsc: Smsc, line: Smpp, body: str):
    sent = line.send(TO, body, "out-258")
    heads, bodies = zip(*(read_header(t.short_message) for t in smsc.submitted), strict=True)
    assert {t.esm_class for t in smsc.submitted} == {0x40}
    coding = {t.data_coding for t in smsc.submitted}
    read = decode_gsm if coding == {0} else decode_ucs2
    assert "".join(map(read, bodies)) == body
    assert [h.number for h in heads] == list(range(1, len(heads) + 1))
    assert {h.ref for h in heads} == {2}
    assert sent.report_ids == tuple(f"c-{n}" for n in range(1, len(heads) + 1))


@pytest.mark.parametrize(
    ("status", "retry"),
    # 5.1.3: throttled, queue full, invalid destination, unknown.
    [(0x58, True), (0x14, True), (0x0B, False), (0xFF, False)],
)
def test_a_refusal_says_whether_to_try_again(smsc: Smsc, line: Smpp, status: int, retry: bool):
    smsc.answer = lambda text: status
    with pytest.raises(NotSent) as refused:
        line.send(TO, "x", "out-1")
    assert (refused.value.reason, refused.value.retry) == (f"smpp_{status}", retry)


def test_a_text_is_heard_and_answered_once_it_is_kept(smsc: Smsc, line: Smpp):
    ear = Notebook()
    answer = smsc.deliver(HUNTER, encode_gsm("pus in the gland [left] €"))
    listen(line, ear, answer.done)
    assert answer.result().is_success
    (heard,) = ear.heard
    assert (heard.sender, heard.body) == (f"+{HUNTER}", "pus in the gland [left] €")
    assert (heard.gateway, heard.part) == ("ridge", None)


def test_what_cannot_be_kept_is_asked_for_again(smsc: Smsc, line: Smpp):
    ear = Notebook(fault=OSError("the disk is full"))
    answer = smsc.deliver(HUNTER, b"lump")
    listen(line, ear, answer.done)
    # ESME_RX_T_APPN, 5.1.3: a temporary fault of ours.
    assert answer.result().command_status == 0x64


def test_texts_have_names_of_their_own(smsc: Smsc, line: Smpp):
    ear = Notebook()
    answers = [smsc.deliver(HUNTER, b"yes") for _ in range(3)]
    listen(line, ear, lambda: all(a.done() for a in answers))
    smsc.forget()
    line.open()
    again = smsc.deliver(HUNTER, b"yes")
    listen(line, ear, again.done)
    assert len({h.id for h in ear.heard}) == len(ear.heard) == 4


SAR = ((smpp34.TLV_SAR_MSG_REF_NUM, b"\x01\x02"), (smpp34.TLV_SAR_TOTAL_SEGMENTS, b"\x02"))


@pytest.mark.parametrize(
    ("words", "fields", "body", "part"),
    [
        (b"\x05\x00\x03\xae\x02\x01pus ", {"esm_class": 0x40}, "pus ", (0xAE, 2, 1)),
        (b"\x06\x08\x04\xbe\xef\x03\x02pus ", {"esm_class": 0x40}, "pus ", (0xBEEF, 3, 2)),
        (
            b"pus",
            {"tlvs": [smpp34.Tlv(*t) for t in (*SAR, (smpp34.TLV_SAR_SEGMENT_SEQNUM, b"\x02"))]},
            "pus",
            (0x0102, 2, 2),
        ),
        ("52°39' Māori".encode("utf-16-be"), {"data_coding": 8}, "52°39' Māori", None),
        (b"", {"tlvs": [smpp34.Tlv(smpp34.TLV_MESSAGE_PAYLOAD, b"long")]}, "long", None),
        ("d\xe9j\xe0".encode("latin-1"), {"data_coding": 3}, "déjà", None),
        (b"plain", {"data_coding": 1}, "plain", None),
        # TS 23.038, 4: message class 1 in the default alphabet and in UCS-2.
        (b"\x00 hut", {"data_coding": 0xF1}, "@ hut", None),
        (b"\x01\x01", {"data_coding": 0x19}, "ā", None),
    ],
)
def test_every_way_of_carrying_a_text_is_read(smsc: Smsc, line: Smpp, words, fields, body, part):
    ear = Notebook()
    answer = smsc.deliver(HUNTER, words, **fields)
    listen(line, ear, answer.done)
    (heard,) = ear.heard
    assert heard.body == body
    assert heard.part == (Part(*part, "61491570999") if part else None)


RECEIPT = (
    "id:{id} sub:001 dlvrd:001 submit date:2611250637 done date:2611250640 stat:{stat} "
    "err:{err} text:Gloves on. Bag the h"
)
"""SMPP 3.4, appendix B: the form of a receipt that is given there as an example."""


@pytest.mark.parametrize(
    ("stat", "err", "state", "reason"),
    [
        ("DELIVRD", "000", "delivered", "DELIVRD 000"),
        ("UNDELIV", "027", "undeliverable", "UNDELIV 027"),
        ("EXPIRED", "001", "undeliverable", "EXPIRED 001"),
        ("ACCEPTD", "000", "accepted", "ACCEPTD 000"),
        ("ENROUTE", "000", "accepted", "ENROUTE 000"),
    ],
)
def test_a_receipt_is_a_report_and_no_text(smsc: Smsc, line: Smpp, stat, err, state, reason):
    ear = Notebook()
    words = RECEIPT.format(id="c-1", stat=stat, err=err).encode()
    answer = smsc.deliver(HUNTER, words, esm_class=0x04)
    listen(line, ear, answer.done)
    (report,) = ear.reports
    assert (report.id, report.state, report.reason) == ("c-1", state, reason)
    assert ear.heard == []


def test_a_receipt_by_its_parameters_alone(smsc: Smsc, line: Smpp):
    ear = Notebook()
    tlvs = [
        smpp34.Tlv(smpp34.TLV_RECEIPTED_MESSAGE_ID, b"c-9\x00"),
        smpp34.Tlv(smpp34.TLV_MESSAGE_STATE, b"\x05"),
    ]
    answer = smsc.deliver(HUNTER, b"", esm_class=0x04, tlvs=tlvs)
    listen(line, ear, answer.done)
    assert [(r.id, r.state) for r in ear.reports] == [("c-9", "undeliverable")]


def test_ids_in_hexadecimal_and_decimal_meet(smsc: Smsc):
    smsc.answer = lambda text: "0001A2B3"
    gateway = opened(smsc.port, receipt_ids="hex")
    gateway.open()
    sent = gateway.send(TO, "x", "out-1")
    gateway.close()
    report = read_receipt(RECEIPT.format(id=0x1A2B3, stat="DELIVRD", err=0), "", None, True, NOW)
    assert sent.report_ids == (report.id,)


def test_an_id_alone_or_nothing(smsc: Smsc):
    assert read_receipt("hello", "", None, False, NOW) is None
    assert read_receipt("hello", "x1", None, False, NOW) == Report("x1", "accepted", NOW, "")


def test_two_links_where_a_carrier_wants_two(smsc: Smsc):
    smsc.submitted.clear()
    smsc.forget()
    smsc.answer = lambda text: "c"
    gateway = opened(smsc.port, links="two")
    gateway.open()
    ear = Notebook()
    smsc.deliver(HUNTER, b"lump")
    gateway.send(TO, "x", "out-1")
    listen(gateway, ear, lambda: ear.heard)
    gateway.close()
    assert (len(smsc.submitted), len(ear.heard)) == (1, 1)


def test_a_carrier_that_lives_answers_when_it_is_asked(smsc: Smsc):
    gateway = opened(smsc.port, enquire_s="0")
    gateway.open()
    for _ in range(4):
        gateway.listen(Notebook(), 0.02)
    gateway.close()


def hang_up(taken):
    taken.close()


def hang(taken):
    taken.recv(1000)
    time.sleep(2)


def unbind(taken):
    # unbind (SMPP 3.4, 4.2.1).
    taken.sendall(bytes.fromhex("00000010000000060000000000000007"))
    time.sleep(2)


def talk_nonsense(taken):
    taken.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")
    time.sleep(2)


@pytest.mark.parametrize(
    ("then", "reason"),
    [(hang_up, "dropped"), (hang, "silent"), (unbind, "unbound"), (talk_nonsense, "dropped")],
)
def test_a_line_that_breaks_is_noticed(then, reason, monkeypatch):
    monkeypatch.setattr(smpp_link, "ANSWER_S", 0.3)
    gateway = opened(Stub(then).port, enquire_s="0")
    gateway.open()
    with pytest.raises(LineDown) as down:
        listen(gateway, Notebook(), lambda: False, 3)
    assert down.value.reason == reason
    with pytest.raises(NotSent) as refused:
        gateway.send(TO, "x", "out-1")
    assert (refused.value.reason, refused.value.retry) == ("line_down", True)


def test_a_text_whose_answer_stays_away_is_tried_again(monkeypatch):
    monkeypatch.setattr(smpp_link, "ANSWER_S", 0.3)
    gateway = opened(Stub(hang).port)
    gateway.open()
    with pytest.raises(NotSent) as refused:
        gateway.send(TO, "x", "out-1")
    assert (refused.value.reason, refused.value.retry) == ("timeout", True)


def certificate(folder: Path) -> Path:
    """A key and a certificate for this machine, which nobody else has signed."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "127.0.0.1")])
    address = x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))])
    day = timedelta(days=1)
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(datetime.now(UTC) - day)
        .not_valid_after(datetime.now(UTC) + day)
        .add_extension(address, critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    form = serialization.PrivateFormat.PKCS8
    path = folder / "carrier.pem"
    pem = serialization.Encoding.PEM
    path.write_bytes(key.private_bytes(pem, form, plain) + made.public_bytes(pem))
    return path


@pytest.mark.parametrize("trusted", [True, False])
def test_tls_binds_only_where_the_certificate_holds(tmp_path, monkeypatch, trusted: bool):
    path = certificate(tmp_path)
    carrier = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    carrier.load_cert_chain(path)
    stub = Stub(hang, carrier)
    if trusted:
        monkeypatch.setenv("SSL_CERT_FILE", str(path))
    over = GatewayRow("smpp", ("PASS",), f"smpps://127.0.0.1:{stub.port}", {"system_id": "bush"})
    gateway = open_smpp("ridge", over, {"PASS": "hut hill"})
    if trusted:
        gateway.open()
        gateway.listen(Notebook(), 0.05)
    else:
        with pytest.raises(LineDown, match="unreachable"):
            gateway.open()


def test_a_carrier_that_is_not_there_is_said():
    with pytest.raises(LineDown, match="unreachable"):
        opened(free_port()).open()


@pytest.mark.parametrize("body", ["ute [4x4] at the hut", "a[" * 90, "Ω hut", "€5", "Māori"])
def test_latin_1_is_written_where_it_can_be(body):
    coded = smpp_text.encode(body, 1, "latin1")
    bare = [p[6:] if len(coded.parts) > 1 else p for p in coded.parts]
    wide = coded.data_coding == 8
    assert "".join(p.decode("utf-16-be" if wide else "latin-1") for p in bare) == body
    if not wide:
        assert len(coded.parts) == len(split(body, 1).parts)


@given(st.binary(max_size=140), st.integers(0, 255), st.integers(0, 255), st.booleans())
def test_any_text_is_read(data, esm_class, coding, sar):
    tlvs = [smpp34.Tlv(*t) for t in (*SAR, (smpp34.TLV_SAR_SEGMENT_SEQNUM, b"\x07"))] if sar else []
    made = smpp34.DeliverSm(HUNTER, "1", data, esm_class=esm_class, data_coding=coding, tlvs=tlvs)
    pdu = smpplib_pdus.parse_pdu(
        made.encode(), client=SimpleSequenceGenerator(), allow_unknown_opt_params=True
    )
    read = smpp_text.read(pdu, "gsm", False, NOW)
    assert read.is_receipt == bool(esm_class & 0x3C)
    assert read.part is None or 1 <= read.part.number <= read.part.of
