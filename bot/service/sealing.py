"""Encryption of photos and backups, where a key is set; without one everything passes as it is.

Law: sealed with the first key, opened with whichever fits; what was never sealed opens as it is.
A sealed thing says what it is and which key it wants, then comes in pieces, so that a backup
need not fit into memory: AES-256-GCM, each piece numbered and the last one marked as the last, so
that none can be cut off, dropped or put elsewhere unseen (STREAM: Hoang, Reyhanitabar, Rogaway,
Vizar, "Online authenticated-encryption and its nonce-reuse misuse-resistance", 2015). Each thing
has a key of its own, by HKDF-SHA-256 (RFC 5869) from the set one, a fresh salt and what it is.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

MAGIC = b"bushpost sealed1"
"""No picture and no database begins so."""
KEY_BYTES, MARK_BYTES, SALT_BYTES, TAG_BYTES, NONCE_BYTES = 32, 8, 16, 16, 12
HEAD = len(MAGIC) + MARK_BYTES + SALT_BYTES
PIECE = 64 * 1024
"""Bytes of one piece before it is encrypted."""
CHANGED = "it was changed or cut off since it was encrypted"


class SealError(ValueError):
    """It cannot be opened: no key, none that fits, or it was changed."""


@dataclass(frozen=True, slots=True)
class Sealer:
    """The keys that are set, 32 bytes each, the newest first; none is no encryption."""

    keys: tuple[bytes, ...] = field(default=(), repr=False)

    @property
    def on(self) -> bool:
        """Whether anything is encrypted."""
        return bool(self.keys)

    def seal(self, plain: bytes, what: str) -> bytes:
        """Bytes sealed as `what`, which opens them again."""
        sealed = BytesIO()
        self.seal_file(BytesIO(plain), sealed, what)
        return sealed.getvalue()

    def open(self, kept: bytes, what: str) -> bytes:
        """The bytes that were sealed as `what`, or that never were; SealError."""
        plain = BytesIO()
        self.open_file(BytesIO(kept), plain, what)
        return plain.getvalue()

    def seal_file(self, source: BinaryIO, target: BinaryIO, what: str) -> None:
        """Seal a whole file into another."""
        if not self.keys:
            _copy(source, target)
            return
        key, salt = self.keys[0], secrets.token_bytes(SALT_BYTES)
        head = MAGIC + mark_of(key) + salt
        target.write(head)
        cipher = AESGCM(_own_key(key, salt, what))
        for nonce, piece in _numbered(source, PIECE):
            target.write(cipher.encrypt(nonce, piece, head))

    def open_file(self, source: BinaryIO, target: BinaryIO, what: str) -> None:
        """Open a whole file into another; SealError, after which the target holds a part."""
        head = source.read(HEAD)
        if not head.startswith(MAGIC):
            target.write(head)
            _copy(source, target)
            return
        if len(head) < HEAD:
            raise SealError(CHANGED)
        mark, salt = head[len(MAGIC) : -SALT_BYTES], head[-SALT_BYTES:]
        cipher = AESGCM(_own_key(self._key_of(mark), salt, what))
        try:
            for nonce, piece in _numbered(source, PIECE + TAG_BYTES):
                target.write(cipher.decrypt(nonce, piece, head))
        except (InvalidTag, ValueError):
            raise SealError(CHANGED) from None

    def is_newest(self, kept: bytes) -> bool:
        """Whether bytes are sealed with the first key; a head of them is enough."""
        return self.on and kept.startswith(MAGIC + mark_of(self.keys[0]))

    def _key_of(self, mark: bytes) -> bytes:
        if not self.keys:
            raise SealError("it is encrypted, and no key is set")
        for key in self.keys:
            if mark_of(key) == mark:
                return key
        raise SealError("it was encrypted with another key than those that are set")


PLAIN = Sealer()
"""No encryption."""


def is_sealed(start: bytes) -> bool:
    """Whether bytes that begin so are sealed."""
    return start.startswith(MAGIC)


def mark_of(key: bytes) -> bytes:
    """What tells a key from others and gives nothing of it away."""
    return _derived(key, b"", "which key", MARK_BYTES)


def _own_key(key: bytes, salt: bytes, what: str) -> bytes:
    return _derived(key, salt, f"sealed {what}", KEY_BYTES)


def _derived(key: bytes, salt: bytes, info: str, length: int) -> bytes:
    return HKDF(SHA256(), length, salt, info.encode()).derive(key)


def _numbered(source: BinaryIO, size: int) -> Iterator[tuple[bytes, bytes]]:
    """Each piece with its nonce: its number, and whether it is the last, which may be empty."""
    number, piece = 0, source.read(size)
    while True:
        following = source.read(size) if len(piece) == size else b""
        last = not following
        yield number.to_bytes(NONCE_BYTES - 1) + bytes([last]), piece
        if last:
            return
        number, piece = number + 1, following


def _copy(source: BinaryIO, target: BinaryIO) -> None:
    while piece := source.read(PIECE):
        target.write(piece)
