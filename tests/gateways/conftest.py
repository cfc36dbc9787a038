"""A gateway that speaks our own JSON, with a new key and an old one."""

from __future__ import annotations

import pytest

from bot.gateways.protocol import Row
from bot.gateways.signed import Signed, open_signed
from tests.gateways.asking import ENV


@pytest.fixture
def paddock() -> Signed:
    return open_signed("paddock", Row("signed", ("NEW_KEY", "OLD_KEY")), ENV)
