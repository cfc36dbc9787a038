"""Signed links that stand for a log-in: one job or the day's round for one member of staff, one
specimen for whoever holds its label.

Law: a link has one purpose and one age; signed for one, it opens nothing else. Signatures are
HMAC-SHA-256 cut to 96 bits (RFC 2104 section 5 allows no fewer than 80), since a link has to
fit a text.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from itsdangerous import BadSignature, SignatureExpired, TimestampSigner
from itsdangerous.signer import HMACAlgorithm

JOB, SPECIMEN, ROUND = "job", "specimen", "round"
AGES = {JOB: timedelta(days=7), SPECIMEN: timedelta(days=90), ROUND: timedelta(days=1)}
"""How long a link of each purpose is good: a pickup's days, a label's way to the laboratory, a
day on the road."""

SIGNATURE_BYTES = 12


class LinkError(ValueError):
    """A link that opens nothing: forged, cut short, or of another purpose."""


class LinkExpired(LinkError):
    """A link of ours that is too old."""


class _Short(HMACAlgorithm):
    """An HMAC cut to what a text has room for."""

    def __init__(self) -> None:
        super().__init__(hashlib.sha256)

    def get_signature(self, key: bytes, value: bytes) -> bytes:
        return super().get_signature(key, value)[:SIGNATURE_BYTES]


class _Signer(TimestampSigner):
    """itsdangerous' signer, its time given with the event and not read from a clock."""

    now: datetime = datetime.fromtimestamp(0, UTC)

    def get_timestamp(self) -> int:
        return int(self.now.timestamp())


@dataclass(frozen=True, slots=True)
class Links:
    """Makes and opens links under a public address; an empty address makes none."""

    secret: str
    public_url: str = ""

    def job(self, code: str, staff_id: str, now: datetime) -> str:
        """The address of one job for one member of staff, or ""."""
        return self._address(JOB, f"{code}~{staff_id}", now)

    def specimen(self, code: str, now: datetime) -> str:
        """The address that a label's QR code holds, or ""."""
        return self._address(SPECIMEN, code.replace("/", "_"), now)

    def round(self, staff_id: str, now: datetime) -> str:
        """The address of one member's round of the day, or ""."""
        return self._address(ROUND, staff_id, now)

    def _address(self, purpose: str, value: str, now: datetime) -> str:
        token = self.token(purpose, value, now)
        return f"{self.public_url}/{purpose}/{token}" if self.public_url else ""

    def token(self, purpose: str, value: str, now: datetime) -> str:
        """A value signed for one purpose at a moment."""
        return self._signer(purpose, now).sign(value).decode()

    def open_job(self, token: str, now: datetime) -> tuple[str, str]:
        """The find's code and the staff id; LinkExpired or LinkError."""
        code, _, staff_id = self._open(JOB, token, now).partition("~")
        return code, staff_id

    def open_round(self, token: str, now: datetime) -> str:
        """The staff id; LinkExpired or LinkError."""
        return self._open(ROUND, token, now)

    def open_specimen(self, token: str, now: datetime) -> str:
        """The specimen's code; LinkExpired or LinkError."""
        return self._open(SPECIMEN, token, now).replace("_", "/")

    def _open(self, purpose: str, token: str, now: datetime) -> str:
        signer = self._signer(purpose, now)
        try:
            return signer.unsign(token, max_age=int(AGES[purpose].total_seconds())).decode()
        except SignatureExpired as fault:
            raise LinkExpired(purpose) from fault
        except (BadSignature, UnicodeDecodeError) as fault:
            raise LinkError(purpose) from fault

    def _signer(self, purpose: str, now: datetime) -> _Signer:
        # The purpose is part of the key, so that a label's link is no job's.
        signer = _Signer(self.secret, salt=f"bushpost.{purpose}", algorithm=_Short())
        signer.now = now
        return signer


NO_LINKS = Links("")
"""For a service that stands at no public address."""
