"""Texts as SMPP 3.4 carries them: data coding, user data header, parameters on parts, receipts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from bot.gateways.protocol import Report
from bot.gateways.receipts import read_receipt
from bot.gateways.userdata import Header, decode_gsm, decode_ucs2, read_header, split
from bot.messages import Heard, Part

HAS_HEADER = 0x40
"""esm_class bit of a user data header (SMPP 3.4, 5.2.12)."""
_KIND, _RECEIPT = 0x3C, 0x04
DEFAULT, UCS2 = 0x00, 0x08


class Encoded(NamedTuple):
    """The parts of a text, each with its header, and their data coding."""

    parts: tuple[bytes, ...]
    data_coding: int


@dataclass(frozen=True, slots=True)
class Incoming:
    """One deliver_sm, read. `is_receipt` is true of everything that is not a person's text."""

    sender: str
    body: str
    at: datetime
    part: Part | None = None
    is_receipt: bool = False
    report: Report | None = None

    def heard(self, gateway: str, id: str) -> Heard:
        """The text under an id of ours."""
        return Heard(id, gateway, self.sender, self.body, self.at, part=self.part)


def encode(text: str, ref: int, alphabet: str) -> Encoded:
    """A text as octets. To a carrier for whom data coding 0 is Latin-1 it is split as GSM 7-bit
    all the same, since that is what telephones get, and written in Latin-1 where it can be."""
    coded = split(text, ref)
    if alphabet == "latin1" and not coded.ucs2:
        head = coded.header_octets
        try:
            parts = [p[:head] + decode_gsm(p[head:]).encode("latin-1") for p in coded.parts]
            return Encoded(tuple(parts), DEFAULT)
        except UnicodeEncodeError:
            coded = split(text, ref, wide=True)
    return Encoded(coded.parts, UCS2 if coded.ucs2 else DEFAULT)


def read(pdu: Any, alphabet: str, hex_ids: bool, at: datetime) -> Incoming:
    """What a deliver_sm of smpplib says. It may be a text, a part of one, or a receipt."""
    esm_class, coding = pdu.esm_class or 0, pdu.data_coding or 0
    data = pdu.short_message or pdu.message_payload or b""
    header: Header | None = None
    if esm_class & HAS_HEADER:
        header, data = read_header(data)
    words = _decoded(data, coding, alphabet)
    sender = _plain(pdu.source_addr)
    if esm_class & _KIND:
        named = _plain(pdu.receipted_message_id).rstrip("\x00")
        told = read_receipt(words, named, pdu.message_state, hex_ids, at)
        kind = esm_class & _KIND
        return Incoming(sender, "", at, is_receipt=True, report=told if kind == _RECEIPT else None)
    if pdu.source_addr_ton == 1 and sender.isdecimal():
        sender = f"+{sender}"
    return Incoming(sender, words, at, _part(pdu, header))


def _part(pdu: Any, header: Header | None) -> Part | None:
    """By the header, or by the parameters that stand in its place (SMPP 3.4, 5.3.2.22 to 24)."""
    to = _plain(pdu.destination_addr)
    if header is not None:
        return Part(header.ref, header.total, header.number, to)
    ref, total, number = pdu.sar_msg_ref_num, pdu.sar_total_segments, pdu.sar_segment_seqnum
    if ref is None or not total or not number or not 1 <= number <= total or total == 1:
        return None
    return Part(ref, total, number, to)


def _decoded(data: bytes, coding: int, alphabet: str) -> str:
    """Octets by their data coding (SMPP 3.4, 5.2.19, and TS 23.038, 4, for message classes)."""
    if coding == UCS2 or (coding & 0xC0 == 0 and coding & 0x0C == UCS2):
        return decode_ucs2(data)
    if coding == DEFAULT or (coding & 0xF4) == 0xF0:
        return decode_gsm(data) if alphabet == "gsm" else data.decode("latin-1")
    return data.decode("ascii" if coding == 1 else "latin-1", "replace")


def _plain(octets: bytes | None) -> str:
    return (octets or b"").decode("latin-1")
