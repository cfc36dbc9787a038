"""One HTTP request out to a carrier, with every failure as a reason code and whether to retry.

Redirects are not followed: a text must not wander to an address that nobody wrote down.
"""

from __future__ import annotations

import httpx

from bot.gateways.protocol import NotSent

TIMEOUT_S = 10.0
_WAIT_AND_RETRY = frozenset({408, 409, 425, 429})


def new_client() -> httpx.Client:
    """A client for one gateway: short timeouts, no redirects, no proxy from the environment."""
    return httpx.Client(timeout=TIMEOUT_S, follow_redirects=False, trust_env=False)


def post(client: httpx.Client, request: httpx.Request) -> httpx.Response:
    """Send; any answer but 2xx is NotSent, with retry where another try may go better."""
    try:
        response = client.send(request)
    except httpx.TimeoutException:
        raise NotSent("timeout", retry=True) from None
    except httpx.HTTPError:
        raise NotSent("unreachable", retry=True) from None
    if response.is_success:
        return response
    status = response.status_code
    raise NotSent(f"http_{status}", retry=status >= 500 or status in _WAIT_AND_RETRY)
