"""The gateways there are: kind -> factory, in one visible place."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.gateways.chat import open_chat
from bot.gateways.fields import open_fields
from bot.gateways.modem import open_modem
from bot.gateways.paper import open_paper
from bot.gateways.protocol import BadSettings, Gateway, Settings
from bot.gateways.signed import open_signed
from bot.gateways.smpp import open_smpp

Factory = Callable[[str, Settings, Mapping[str, str]], Gateway]

GATEWAYS: dict[str, Factory] = {
    "signed": open_signed,
    "fields": open_fields,
    "smpp": open_smpp,
    "modem": open_modem,
    "chat": open_chat,
    "paper": open_paper,
}


def open_gateways(rows: Mapping[str, Settings], env: Mapping[str, str]) -> dict[str, Gateway]:
    """Every gateway of a programme by its name; BadSettings names the row that cannot be used."""
    opened: dict[str, Gateway] = {}
    for name, row in rows.items():
        factory = GATEWAYS.get(row.kind)
        if factory is None:
            raise BadSettings(f"gateway {name}: kind {row.kind!r} is none of {', '.join(GATEWAYS)}")
        opened[name] = factory(name, row, env)
    return opened
