"""How a carrier without the standard's signatures proves itself: by address, token or HMAC.

Every comparison of a secret takes the same time, whatever is given.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import ipaddress

from bot.gateways.protocol import BadSettings, Request

Network = ipaddress.IPv4Network | ipaddress.IPv6Network


def body_hmac(secret: str, body: bytes, form: str) -> str:
    """HMAC-SHA256 (RFC 2104, FIPS 180-4) over a body, as hex or base64."""
    digest = hmac.new(secret.encode(), body, hashlib.sha256).digest()
    return base64.b64encode(digest).decode() if form == "base64" else digest.hex()


def basic_pair(request: Request) -> str:
    """ "user:password" of HTTP basic authentication (RFC 7617), or ""."""
    scheme, _, rest = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() != "basic":
        return ""
    try:
        return base64.b64decode(rest, validate=True).decode("utf-8")
    except ValueError:
        return ""


def matches(given: str, wanted: tuple[str, ...]) -> bool:
    """Whether one of the wanted is given, in a time that tells nothing."""
    given_bytes = given.encode("utf-8", "surrogatepass")
    hits = [hmac.compare_digest(given_bytes, each.encode()) for each in wanted]
    return True in hits


def is_inside(remote: str, networks: tuple[Network, ...]) -> bool:
    """Whether an address lies in one of the networks; IPv4 written as IPv6 counts as IPv4."""
    try:
        address = ipaddress.ip_address(remote)
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    return any((mapped or address) in network for network in networks)


def read_networks(text: str) -> tuple[Network, ...]:
    """ "127.0.0.1 10.0.0.0/8" -> networks; BadSettings names what is none."""
    try:
        return tuple(ipaddress.ip_network(part) for part in text.replace(",", " ").split())
    except ValueError as fault:
        raise BadSettings(f"options.addresses: {fault}") from None
