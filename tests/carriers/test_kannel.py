"""Debian's kannel between a fake mobile and the real service, set up as the manual says.

The configuration and the gateway's settings are the manual's own, with free ports in place of its
ports: what is proved here is what a programme would copy.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import unquote_to_bytes

import pytest
from sqlalchemy import insert

from bot.gateways.userdata import read_header
from bot.messages import Address, SendText
from bot.service.database import Database
from bot.service.posting import out_row
from bot.service.tables import TextOut
from tests.carriers.house import House, Program, block, house, needed, texts_in, texts_out, until
from tests.gateways.smsc import free_port

FAKE_MOBILE = "/usr/lib/kannel/test/fakesmsc"
SMPP_DRIVER = "/usr/lib/kannel/test/drive_smpp"
HUNTER = "+61491570006"
SECRETS = {"BUSHPOST_HILL_TOKEN": "hearsecret", "BUSHPOST_HILL_PASSWORD": "sendsecret"}
FIRST = "Shot a big boar last night, pus in gland under the jaw.  3km nw of Brindle Hut"
OWN_WORDS = "The gate at Ōhinemuri track is open till six. " * 3 + "\N{BOAR}"
"""Long, and not in the 7-bit alphabet: it goes out as UCS-2 in three parts."""
PORTS = ("13000", "13001", "13010", "13013", "8077")
GOT = re.compile(r"Got message \d+: <12345 (\S+) (?:udh (\S+) data|(text)|(data)) (.*)>")


def with_ports(text: str, ports: dict[str, int]) -> str:
    return re.sub("|".join(PORTS), lambda hit: str(ports[hit.group()]), text)


def came_back(mobiles: list[Program]) -> list[str]:
    """The texts that the fake mobiles printed, parts joined by their headers."""
    whole: list[str] = []
    parts: dict[int, dict[int, bytes]] = {}
    for number, header, _, _, words in GOT.findall("".join(m.said() for m in mobiles)):
        assert number == HUNTER
        data = unquote_to_bytes(words.replace("+", " ")) if header else words.encode()
        if not header:
            whole.append(words)
            continue
        head, _ = read_header(unquote_to_bytes(header))
        held = parts.setdefault(head.ref, {})
        held[head.number] = data
        if len(held) == head.total:
            joined = b"".join(held[n] for n in sorted(held))
            wide = joined[:1] == b"\0"
            whole.append(joined.decode("utf-16-be" if wide else "utf-8"))
    return whole


class Kannel:
    """The gateway's two processes, and mobiles that send through it."""

    def __init__(self, home: House, ports: dict[str, int]) -> None:
        self.home, self.ports = home, ports
        written = with_ports(block("kannel", "kannel.md"), ports)
        # The manual's pause of ten seconds between two tries is too long for a test.
        written = written.replace("http-queue-delay = 10", "http-queue-delay = 1")
        (home.folder / "kannel.conf").write_text(written)
        box = home.start("bearerbox", "-v", "0", "kannel.conf")
        until(lambda: "MAIN: Start-up done" in box.said(), "bearerbox to start")
        self.mobiles: list[Program] = []

    def smsbox(self) -> None:
        box = self.home.start("smsbox", "-v", "1", "kannel.conf")
        until(lambda: "Connected to bearerbox" in box.said(), "smsbox to connect")

    def text_in(self, words: str) -> None:
        """One mobile at a time: the fake carrier of kannel takes no two."""
        for mobile in self.mobiles:
            mobile.end()
        told = f"{HUNTER} 12345 {words}"
        port = self.ports["13010"]
        mobile = self.home.start(FAKE_MOBILE, "-H", "127.0.0.1", "-r", port, "-m", "1", told)
        until(lambda: "sent message 1" in mobile.said(), "the mobile to send")
        self.mobiles.append(mobile)


@pytest.fixture
def home(tmp_path: Path):
    needed("bearerbox", "smsbox", FAKE_MOBILE, SMPP_DRIVER)
    with house(tmp_path) as made:
        yield made


def test_a_hunters_texts_and_the_replies_through_kannel(home: House) -> None:
    ports = {name: free_port() for name in PORTS}
    home.programme(with_ports(block("toml", "kannel.md"), ports))
    kannel = Kannel(home, ports)
    kannel.smsbox()
    # Nobody listens yet: the text must wait in kannel until somebody does.
    kannel.text_in(f"text {FIRST}")
    home.bushpost("serve", "--port", str(ports["8077"]), env=SECRETS)
    database = home.database()
    until(lambda: texts_in(database), "the first text to arrive")
    assert texts_in(database) == [(HUNTER, FIRST)]
    until(lambda: all_delivered(database), "the replies to be reported")
    # A long text in two parts, the second first, as UCS-2: kannel joins it.
    parts = ("head in the freezer ", "at Kerrin Flat Depot, 36°51'S M\u0101ori gate")
    for number in (2, 1):
        wide = "".join(f"%{octet:02X}" for octet in parts[number - 1].encode("utf-16-be"))
        kannel.text_in(f"udh-data %05%00%03%2A%02%{number:02X} {wide}")
    until(lambda: len(texts_in(database)) > 1, "the long text to arrive")
    write(database, OWN_WORDS)
    until(lambda: OWN_WORDS in came_back(kannel.mobiles), "a person's own words to come back")
    until(lambda: all_delivered(database), "all of it to be reported")
    sent = [body for _, body, _, _ in texts_out(database)]
    assert came_back(kannel.mobiles) == sent
    assert len(texts_in(database)) == 2


def write(database: Database, words: str) -> None:
    """Put a person's text into the outbox, as the desk would."""
    row = out_row(SendText(words, "person"), Address("hill", HUNTER), datetime.now(UTC))
    with database.write() as connection:
        connection.execute(insert(TextOut).values(row))


def all_delivered(database: Database) -> bool:
    out = texts_out(database)
    return bool(out) and all(state == "sent" and report == "delivered" for *_, state, report in out)


def test_kannels_smpp_driver_and_a_line_of_ours(home: House) -> None:
    """The driver is a carrier that texts "1", "2", ... and takes what is submitted. It is also
    a box of kannel's, and wants a bearerbox to talk to."""
    ports = {name: free_port() for name in PORTS} | {"smpp": free_port()}
    Kannel(home, ports)
    settings = block("toml", "smpp.md")
    settings = settings.replace("smsc.example:2775", f"127.0.0.1:{ports['smpp']}")
    home.programme(f'{settings}links = "two"\n')
    driver = home.start(SMPP_DRIVER, "-p", ports["smpp"], "-m", 5, "-c", "kannel.conf")
    until(lambda: "Starting drive_smpp" in driver.said(), "the driver to start")
    line = home.bushpost("carry", "ridge", env={"BUSHPOST_RIDGE_PASSWORD": "ridgepw"})
    until(lambda: "ESME has submitted all messages" in driver.said(), "five texts to be submitted")
    database = home.database()
    assert texts_in(database) == [("456", str(n)) for n in range(1, 6)]
    taken = re.findall(r"short_message = <(.*?)>\n", driver.said())
    # The driver prints no further than the first NUL, and so nothing of a part with a header.
    readable = {words for words in taken if words.strip("\5")}
    assert len(taken) == 5
    assert readable
    assert readable <= {body for _, body, _, _ in texts_out(database)}
    assert "line_open" in line.said()
