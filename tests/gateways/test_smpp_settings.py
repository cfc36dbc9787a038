"""Settings of a line by SMPP that could not work: named before anything is sent."""

from __future__ import annotations

import pytest

from bot.gateways.protocol import BadSettings
from bot.gateways.smpp import open_smpp
from bot.programme import GatewayRow
from tests.gateways.test_smpp import row


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"send_url": "http://x"}, "send_url"),
        ({"send_url": "smpp://x:99999"}, "send_url"),
        ({"secrets": ()}, "secrets"),
        ({"secrets": ("UNSET",)}, "UNSET is not set"),
        ({"system_id": ""}, "options.system_id"),
        ({"system_id": "a" * 16}, "system_id: more"),
        ({"links": "three"}, "options.links"),
        ({"alphabet": "utf8"}, "options.alphabet"),
        ({"dest_ton": "x"}, "options.dest_ton"),
        ({"colour": "red"}, "options.colour: not known"),
    ],
)
def test_settings_that_could_not_work_are_named(changes, words):
    good = row(2775)
    kept = {k: v for k, v in changes.items() if k not in ("send_url", "secrets")}
    tried = GatewayRow(
        "smpp",
        changes.get("secrets", good.secrets),
        changes.get("send_url", good.send_url),
        good.options | kept,
    )
    with pytest.raises(BadSettings, match=words) as fault:
        open_smpp("ridge", tried, {"PASS": "hut hill"})
    assert str(fault.value).startswith("gateway ridge: ")


def test_a_password_that_the_protocol_would_cut_is_refused():
    with pytest.raises(BadSettings, match="8 characters"):
        open_smpp("ridge", row(2775), {"PASS": "123456789"})
