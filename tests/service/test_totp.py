"""Codes against RFC 6238 Appendix B (the column of SHA-1, seed "12345678901234567890", eight
digits) and RFC 4226 Appendix D (the same seed, six digits)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.service import totp

SEED = b"12345678901234567890"
AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
STEP = timedelta(seconds=totp.PERIOD_S)


@pytest.mark.parametrize(
    ("seconds", "code"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_codes_are_those_of_rfc_6238(seconds, code):
    at = datetime.fromtimestamp(seconds, UTC)
    assert totp.code_at(SEED, totp.step_of(at), 8) == code
    assert totp.matching_step(SEED, code[2:], at, 0) == seconds // 30


@pytest.mark.parametrize(
    ("counter", "code"),
    [
        *((0, "755224"), (1, "287082"), (2, "359152"), (3, "969429"), (4, "338314")),
        *((5, "254676"), (6, "287922"), (7, "162583"), (8, "399871"), (9, "520489")),
    ],
)
def test_codes_are_those_of_rfc_4226(counter, code):
    assert totp.code_at(SEED, counter) == code


@pytest.mark.parametrize(
    ("apart", "taken"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)]
)
def test_one_step_on_either_side_is_taken(apart, taken):
    step = totp.step_of(AT) + apart
    assert (totp.matching_step(SEED, totp.code_at(SEED, step), AT, 0) == step) is taken


def test_a_used_code_and_all_before_it_are_refused():
    used = totp.matching_step(SEED, totp.code_at(SEED, totp.step_of(AT)), AT, 0)
    for apart in (-1, 0):
        code = totp.code_at(SEED, used + apart)
        assert totp.matching_step(SEED, code, AT, used) is None
    assert totp.matching_step(SEED, totp.code_at(SEED, used + 1), AT, used) == used + 1


@given(st.text(max_size=12))
def test_nothing_else_matches(typed):
    codes = {totp.code_at(SEED, totp.step_of(AT) + apart) for apart in (-1, 0, 1)}
    assert (totp.matching_step(SEED, typed, AT, 0) is None) is (typed not in codes)


@given(st.binary(min_size=1, max_size=40))
def test_a_secret_comes_back_from_its_text(secret):
    assert totp.from_text(totp.as_text(secret)) == secret


def test_the_address_holds_what_an_application_needs():
    """The seed in base32 is RFC 4648's: GEZDGNBVGY3TQOJQ twice."""
    address = urlsplit(totp.otpauth(SEED, "Kerrin & Sons: deer", "ines"))
    assert (address.scheme, address.netloc) == ("otpauth", "totp")
    assert address.path == "/Kerrin%20%26%20Sons%3A%20deer:ines"
    asked = {name: value for name, (value,) in parse_qs(address.query).items()}
    assert asked == {
        "secret": "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ",
        "issuer": "Kerrin & Sons: deer",
        "algorithm": "SHA1",
        "digits": "6",
        "period": "30",
    }
