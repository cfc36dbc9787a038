"""A gateway that speaks our own JSON, with a new key and an old one."""

from __future__ import annotations

import pytest

from bot.gateways.signed import Signed, open_signed
from bot.programme import GatewayRow
from tests.gateways.asking import ENV


@pytest.fixture
def paddock() -> Signed:
    return open_signed("paddock", GatewayRow("signed", ("NEW_KEY", "OLD_KEY")), ENV)
