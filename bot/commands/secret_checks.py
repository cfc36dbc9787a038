"""Secrets that anybody may know or guess: what `ready` tells and `serve --public` refuses.

Law: a value is never repeated, only its variable's name.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Iterable, Iterator, Mapping

from bot.settings import LEAST_SECRET

KEY_NAME = "BUSHPOST_SECRET_KEY"
DEMO_SECRETS = {
    KEY_NAME: "demo only: everybody can read this key in the program's own source",
    "BUSHPOST_PADDOCK_SECRET": "whsec_"
    + base64.b64encode(b"demo only, known to all the world").decode(),
}
"""What stands in for secrets that are not set, as long as nobody else can reach the service."""

LEAST_DIFFERENT = 10
"""Different characters of that key: fewer are a pattern, not a key."""
LEAST_BYTES = 24
"""Of a webhook's key (Standard Webhooks: 24 to 64 bytes)."""


def secret_faults(env: Mapping[str, str], named: Iterable[str]) -> Iterator[tuple[str, str]]:
    """The variables among those named whose secret is not fit for the public, each with why."""
    given = {name: env.get(name, "").strip() for name in sorted(named)}
    seen: dict[str, str] = {}
    for name, value in given.items():
        if not value:
            yield name, "is not set"
        elif value in DEMO_SECRETS.values():
            yield name, "is the demo's, which everybody can read"
        elif value in seen:
            yield name, f"is the same as {seen[value]}"
        elif why := _weak(name, value):
            yield name, why
        seen.setdefault(value, name)


def _weak(name: str, value: str) -> str:
    if value.startswith("whsec_"):
        return "" if _bytes_of(value) >= LEAST_BYTES else f"has fewer than {LEAST_BYTES} bytes"
    if name != KEY_NAME:
        return ""  # A carrier's own word: how long it may be is not ours to say.
    if len(value) < LEAST_SECRET:
        return f"is shorter than {LEAST_SECRET} characters"
    few = len(set(value)) < LEAST_DIFFERENT
    return f"has fewer than {LEAST_DIFFERENT} different characters" if few else ""


def _bytes_of(value: str) -> int:
    try:
        return len(base64.b64decode(value.removeprefix("whsec_"), validate=True))
    except (binascii.Error, ValueError):
        return 0
