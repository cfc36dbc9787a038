"""What the environment says, read once at start, typed. A fault names the variable.

Nothing else of the program reads the environment, save the secrets that a programme's gateways
name, which are handed over whole as `env`. What a command's option says goes before it.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")

USUAL_DATABASE = "sqlite:///bushpost.sqlite3"
USUAL_PORT = 8077
LEAST_SECRET = 32
"""Characters of a secret key: RFC 2104 section 3 wants no fewer bytes than the hash has, 32."""
LEAST_TOKEN = 24
"""Characters of the token that opens the figures."""
KEY_BYTES = 32
"""Of a key that encrypts: AES-256."""
LONGEST_KEY_FILE = 10_000
WHO_MUST = ("administrators", "everybody")
"""Of whom a second factor can be asked."""
NO_KEYS: tuple[bytes, ...] = ()


class SettingsError(ValueError):
    """An environment variable is missing or cannot be used; the message names it."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How often strangers may do what; 0 is no limit."""

    proofs: int = 60
    """Bad proofs at the webhook, from one address in a minute."""
    log_ins: int = 60
    """Failed log-ins from one address in an hour, whatever the names."""
    links: int = 60
    """Links that open nothing, from one address in a minute; and openings of one link."""
    chat: int = 30
    """Texts from one browser in a minute; ten times as many from one address."""


USUAL_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything that is set from outside. Folders are None where the shipped ones serve."""

    database: str = USUAL_DATABASE
    secret_key: str = ""
    programme: Path | None = None
    dialogs: Path | None = None
    host: str = "127.0.0.1"
    port: int = USUAL_PORT
    public_url: str = ""
    tiles: str = ""
    behind_proxy: bool = False
    limits: Limits = USUAL_LIMITS
    metrics_token: str = ""
    second_factor: str = ""
    """Who must have one: "", "administrators" or "everybody"."""
    encryption_keys: tuple[bytes, ...] = field(default=(), repr=False)
    """The first encrypts photos and backups, all of them open; none is no encryption."""

    @classmethod
    def from_environment(cls, env: Mapping[str, str]) -> Settings:
        """Read every BUSHPOST_ variable; SettingsError says which is wrong and how."""
        return cls(
            database=_read(env, "BUSHPOST_DATABASE", str, USUAL_DATABASE),
            secret_key=_read(env, "BUSHPOST_SECRET_KEY", _secret, ""),
            programme=_read(env, "BUSHPOST_PROGRAMME", _folder, None),
            dialogs=_read(env, "BUSHPOST_DIALOGS", _folder, None),
            host=_read(env, "BUSHPOST_HOST", str, "127.0.0.1"),
            port=_read(env, "BUSHPOST_PORT", _port, USUAL_PORT),
            public_url=_read(env, "BUSHPOST_PUBLIC_URL", _url, ""),
            tiles=_read(env, "BUSHPOST_TILES", _url, ""),
            behind_proxy=_read(env, "BUSHPOST_BEHIND_PROXY", _yes_no, False),
            limits=_limits(env),
            metrics_token=_read(env, "BUSHPOST_METRICS_TOKEN", _token, ""),
            second_factor=_read(env, "BUSHPOST_SECOND_FACTOR", _who, ""),
            encryption_keys=_encryption_keys(env),
        )


def _limits(env: Mapping[str, str]) -> Limits:
    usual = USUAL_LIMITS
    return Limits(
        proofs=_read(env, "BUSHPOST_LIMIT_PROOFS", _count, usual.proofs),
        log_ins=_read(env, "BUSHPOST_LIMIT_LOGINS", _count, usual.log_ins),
        links=_read(env, "BUSHPOST_LIMIT_LINKS", _count, usual.links),
        chat=_read(env, "BUSHPOST_LIMIT_CHAT", _count, usual.chat),
    )


def _encryption_keys(env: Mapping[str, str]) -> tuple[bytes, ...]:
    keys = _read(env, "BUSHPOST_ENCRYPTION_KEY", encryption_keys, NO_KEYS)
    filed = _read(env, "BUSHPOST_ENCRYPTION_KEY_FILE", _keys_of_file, NO_KEYS)
    if keys and filed:
        raise SettingsError("BUSHPOST_ENCRYPTION_KEY: either that or the file of keys")
    return keys or filed


def encryption_keys(raw: str) -> tuple[bytes, ...]:
    """Keys between spaces, commas or lines, each the base64 of 32 bytes; ValueError says which is
    not, and repeats none."""
    return tuple(_key(n, word) for n, word in enumerate(raw.replace(",", " ").split(), 1))


def _key(number: int, word: str) -> bytes:
    plain = word.replace("-", "+").replace("_", "/")
    try:
        key = base64.b64decode(plain + "=" * (-len(plain) % 4), validate=True)
    except (binascii.Error, ValueError):
        key = b""
    if len(key) != KEY_BYTES:
        raise ValueError(f"key {number} is not the base64 of {KEY_BYTES} bytes")
    return key


def _keys_of_file(raw: str) -> tuple[bytes, ...]:
    try:
        with Path(raw).open(encoding="ascii") as file:
            keys = encryption_keys(file.read(LONGEST_KEY_FILE))
    except (OSError, UnicodeDecodeError) as fault:
        raise ValueError(f"it cannot be read: {type(fault).__name__}") from None
    if not keys:
        raise ValueError("there is no key in the file")
    return keys


def _read(env: Mapping[str, str], name: str, turn: Callable[[str], T], default: T) -> T:
    raw = env.get(name, "").strip()
    if not raw:
        return default
    try:
        return turn(raw)
    except ValueError as fault:
        raise SettingsError(f"{name}: {fault}") from None


def _secret(raw: str) -> str:
    if len(raw) < LEAST_SECRET:
        raise ValueError(f"shorter than {LEAST_SECRET} characters")
    return raw


def _token(raw: str) -> str:
    if len(raw) < LEAST_TOKEN or not (raw.isascii() and raw.isprintable()):
        raise ValueError(f"shorter than {LEAST_TOKEN} characters, or not plain ASCII")
    return raw


def _who(raw: str) -> str:
    if raw not in WHO_MUST:
        raise ValueError(f"{raw!r} is none of {', '.join(WHO_MUST)}")
    return raw


def _folder(raw: str) -> Path:
    path = Path(raw)
    if not path.is_dir():
        raise ValueError(f"there is no folder {raw!r}")
    return path


def _port(raw: str) -> int:
    if not raw.isdigit() or not 0 < int(raw) < 65536:
        raise ValueError(f"{raw!r} is not a port between 1 and 65535")
    return int(raw)


def _count(raw: str) -> int:
    if not (raw.isascii() and raw.isdigit()) or len(raw) > 6:
        raise ValueError(f"{raw!r} is not a number from 0 to 999999")
    return int(raw)


def _url(raw: str) -> str:
    if not raw.startswith(("https://", "http://")):
        raise ValueError(f"{raw!r} starts with neither https:// nor http://")
    return raw.rstrip("/")


def _yes_no(raw: str) -> bool:
    answers = {"1": True, "yes": True, "true": True, "0": False, "no": False, "false": False}
    if raw.lower() not in answers:
        raise ValueError(f"{raw!r} is neither yes nor no")
    return answers[raw.lower()]
