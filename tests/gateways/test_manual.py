"""The manual's own examples work as they are written."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import msgspec

from bot.gateways import smpp
from bot.gateways.fields import OPTIONS
from bot.gateways.registry import open_gateways
from bot.programme import GatewayRow
from tests.gateways.asking import NOW, SECRET, request

PAGES = Path(__file__).parents[2] / "bot" / "manual"
MANUAL = (PAGES / "gateways.md").read_text(encoding="utf-8")
KANNEL, SMPP, MODEM = (
    (PAGES / f"{page}.md").read_text(encoding="utf-8") for page in ("kannel", "smpp", "modem")
)
ENV = {
    "BUSHPOST_PADDOCK_SECRET": SECRET,
    "BUSHPOST_HILL_TOKEN": "hut-on-the-hill",
    "BUSHPOST_HILL_PASSWORD": "p&ss",
    "BUSHPOST_RIDGE_PASSWORD": "eight888",
}


def rows(page: str = MANUAL) -> dict[str, GatewayRow]:
    blocks = re.findall(r"```toml\n(.*?)```", page, re.DOTALL)
    found = tomllib.loads("\n".join(blocks))["gateways"]
    return msgspec.convert(found, dict[str, GatewayRow])


def test_every_example_opens():
    assert list(open_gateways(rows(), ENV)) == ["paddock", "hill"]
    for page, names in ((KANNEL, ["hill"]), (SMPP, ["ridge"]), (MODEM, ["shed"])):
        assert list(open_gateways(rows(page), ENV)) == names


def test_the_get_url_of_the_manual_is_heard():
    pattern = re.search(r'get-url = "[^?]+\?([^"]+)"', KANNEL).group(1)
    # What kannel 1.4.5 puts in place of its escapes, by its user guide.
    filled = {"%q": "+447700900123", "%b": "a lump", "%I": "5f6f", "%T": "1795588624"}
    query = dict(part.split("=", 1) for part in pattern.split("&"))
    query = {name: filled.get(value, value) for name, value in query.items()}
    query["token"] = "hut-on-the-hill"
    gateway = open_gateways(rows(KANNEL), ENV)["hill"]
    asked = request(query=query, method="GET")
    gateway.verify(asked, NOW)
    assert gateway.hear(asked)[0].sender == "+447700900123"


def test_every_option_is_in_the_manual():
    for page, options in ((MANUAL, OPTIONS), (SMPP, smpp.OPTIONS)):
        named = set(re.findall(r"`([a-z_]+)`", page))
        assert sorted(options - named) == []
