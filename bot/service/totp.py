"""Codes of six digits that change every thirty seconds: RFC 6238 over RFC 4226, with HMAC-SHA-1 as
every telephone's application takes it.

Law: a code counts once. Whoever asks keeps the step of the last one, and a step that is not later
than it matches nothing. The step before and the one after are taken too (RFC 6238 section 5.2),
for clocks that are apart and for whoever types slowly.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from datetime import datetime
from urllib.parse import quote

PERIOD_S, DIGITS = 30, 6
EITHER_SIDE = 1
"""Steps that are taken before and after the one that it is."""
SECRET_BYTES = 20
"""RFC 4226 section 4, R6, recommends 160 bits."""


def code_at(secret: bytes, step: int, digits: int = DIGITS) -> str:
    """The code of one step (RFC 4226 section 5.3)."""
    mac = hmac.new(secret, step.to_bytes(8, "big"), hashlib.sha1).digest()
    start = mac[-1] & 0x0F
    number = int.from_bytes(mac[start : start + 4], "big") & 0x7FFF_FFFF
    return f"{number % 10**digits:0{digits}d}"


def step_of(at: datetime) -> int:
    """How many periods have gone by since 1970."""
    return int(at.timestamp()) // PERIOD_S


def matching_step(secret: bytes, typed: str, at: datetime, after: int) -> int | None:
    """The step later than `after` whose code was typed; None for no such code."""
    now = step_of(at)
    matching = None
    for step in range(max(0, now - EITHER_SIDE), now + EITHER_SIDE + 1):
        # All of them are compared, so that the time taken tells nothing.
        if hmac.compare_digest(code_at(secret, step).encode(), typed.encode()) and step > after:
            matching = step
    return matching


def as_text(secret: bytes) -> str:
    """A secret as one can type it: base32 (RFC 4648), without its padding."""
    return base64.b32encode(secret).decode().rstrip("=")


def from_text(text: str) -> bytes:
    """The secret of such a text."""
    return base64.b32decode(text + "=" * (-len(text) % 8))


def otpauth(secret: bytes, issuer: str, name: str) -> str:
    """The address that a telephone's application reads from a QR code."""
    label = f"{quote(issuer, safe='')}:{quote(name, safe='')}"
    asks = f"secret={as_text(secret)}&issuer={quote(issuer, safe='')}"
    return f"otpauth://totp/{label}?{asks}&algorithm=SHA1&digits={DIGITS}&period={PERIOD_S}"
