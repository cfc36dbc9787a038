"""A modem through the folders of Debian's gammu-smsd (its service "files", inboxformat "detail").

The line is the folders: what the modem got lies in one, what is to go out is put into another,
and comes to rest in a third when it went, in a fourth when it could not. A file of the inbox is
deleted once its texts are kept, so that nothing is lost while this service is away, and nobody's
words stay behind. The options of a row, all of them folders: inbox, outbox, sent, failed.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator, Mapping
from configparser import ConfigParser
from configparser import Error as NotIni
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from time import sleep, time
from typing import Literal

from bot.gateways.protocol import (
    LINE_DOWN,
    BadBody,
    BadProof,
    BadSettings,
    Ear,
    LineDown,
    NotSent,
    Report,
    Request,
    Sent,
    Settings,
)
from bot.gateways.userdata import read_header
from bot.messages import Address, Heard, Part

FOLDERS = ("inbox", "outbox", "sent", "failed")
SETTLED_S = 1.0
"""A file that was written to just now may not be whole yet."""
STUCK_S = 900.0
"""When a text still lies in the outbox after so long, nobody is sending: no more are put there."""

_NUMBER = re.compile(r"\+?\d{3,20}")
_OUT = re.compile(r"OUTC_\+?\d+_0*(\d+)\.\w+")
_TEXT = re.compile(r"text\d\d")


@dataclass(frozen=True, slots=True)
class Modem:
    """A gateway with a line, by folders on this machine."""

    name: str
    folders: Mapping[str, Path]
    methods: frozenset[str] = frozenset()
    renames: bool = False

    def verify(self, request: Request, now: datetime) -> None:
        """Always BadProof: nothing of a modem comes by HTTP."""
        raise BadProof("a modem's texts come by its folders")

    def hear(self, request: Request) -> tuple[Heard, ...]:
        """Always BadBody, for the same reason."""
        raise BadBody("body", "a modem's texts come by its folders")

    def open(self) -> None:
        """LineDown("no_inbox" | ...) unless every folder is there and can be written."""
        for name, folder in self.folders.items():
            if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
                raise LineDown(f"no_{name}")

    def listen(self, ear: Ear, wait_s: float) -> None:
        """Bring in every file that is whole, and what became of texts out; then wait."""
        self.open()
        for path in self._whole("inbox"):
            for heard in read_file(path, self.name):
                ear.hear(heard)
            path.unlink()
        self._tell(ear, "sent", "accepted")
        self._tell(ear, "failed", "undeliverable")
        if self._is_stuck():
            raise LineDown("modem_stuck")
        sleep(wait_s)

    def close(self) -> None:
        """Nothing to take leave of."""

    def send(self, address: Address, body: str, key: str) -> Sent:
        """Put a text into the modem's outbox, under the same name however often; it is sent in
        the order of names, and splits what is long itself."""
        if not _NUMBER.fullmatch(address.number):
            raise NotSent("not_a_number", retry=False)
        if self._is_stuck():
            raise NotSent(LINE_DOWN, retry=True)
        count = int("".join(c for c in key if c.isdigit()) or 0)
        # "d" in the ending asks the carrier for a delivery report (gammu-smsd-files(7)).
        path = self.folders["outbox"] / f"OUTC_{address.number}_{count:012d}.txtd"
        draft = path.with_name(f".{key}.draft")
        try:
            # UTF-16 with a mark in front, which is how it knows the alphabet.
            draft.write_bytes(b"\xfe\xff" + body.encode("utf-16-be", "replace"))
            draft.replace(path)
        except OSError:
            raise NotSent(LINE_DOWN, retry=True) from None
        return Sent(key, (key,))

    def _tell(self, ear: Ear, folder: str, state: Literal["accepted", "undeliverable"]) -> None:
        for path in self._whole(folder):
            if named := _OUT.fullmatch(path.name):
                at = datetime.fromtimestamp(path.stat().st_mtime, UTC)
                ear.report(Report(f"out-{named.group(1)}", state, at, f"modem_{folder}"))
                path.unlink()

    def _is_stuck(self) -> bool:
        try:
            return any(time() - p.stat().st_mtime > STUCK_S for p in self._files("outbox"))
        except OSError:
            return True

    def _files(self, folder: str) -> list[Path]:
        found = (path for path in self.folders[folder].iterdir() if path.is_file())
        return sorted(path for path in found if not path.name.startswith("."))

    def _whole(self, folder: str) -> list[Path]:
        return [p for p in self._files(folder) if time() - p.stat().st_mtime >= SETTLED_S]


def read_file(path: Path, gateway: str) -> Iterator[Heard]:
    """The texts of one file: a long one comes as its parts, each with its header.

    The file says the sender's number and the words as hexadecimal UTF-16, and the carrier's
    time. What cannot be read so is a text all the same, without words, so that a person sees it.
    """
    raw = path.read_bytes()
    name = f"{path.stem}-{hashlib.sha256(raw).hexdigest()[:12]}"
    arrived = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    parser = ConfigParser(interpolation=None, strict=False)
    try:
        parser.read_string(raw.decode("utf-8", "replace"))
    except NotIni:
        parser.clear()
    blocks: list[Mapping[str, str]] = [parser[title] for title in parser.sections()]
    for number, block in enumerate(blocks or [{}]):
        yield Heard(
            id=f"{name}-{number}",
            gateway=gateway,
            sender=_unhexed(block.get("numberunicode", "")) or _sender_by_name(path),
            body=_unhexed("".join(block[key] for key in sorted(block) if _TEXT.fullmatch(key))),
            sent_at=_moment(block.get("datetime", ""), arrived),
            part=_part(block.get("udh", "")),
        )


def _sender_by_name(path: Path) -> str:
    """Of IN20261125_063200_00_+61491570006_00.txt: what a broken file still says."""
    pieces = path.stem.split("_")
    return pieces[3] if len(pieces) > 3 and pieces[3] else "unknown"


def _unhexed(digits: str) -> str:
    try:
        return bytes.fromhex(digits).decode("utf-16-be", "surrogatepass")
    except ValueError:
        return ""


def _moment(written: str, otherwise: datetime) -> datetime:
    try:
        moment = datetime.fromisoformat(written)
    except ValueError:
        return otherwise
    return moment.astimezone(UTC) if moment.tzinfo else otherwise


def _part(digits: str) -> Part | None:
    try:
        header, _ = read_header(bytes.fromhex(digits))
    except ValueError:
        return None
    return Part(header.ref, header.total, header.number) if header else None


def open_modem(name: str, row: Settings, env: Mapping[str, str]) -> Modem:
    """The gateway of a row with kind "modem"; BadSettings names the option at fault."""
    unknown = set(row.options) - set(FOLDERS)
    if unknown:
        raise BadSettings(f"gateway {name}: options.{min(unknown)}: not known")
    missing = [folder for folder in FOLDERS if not row.options.get(folder)]
    if missing:
        raise BadSettings(f"gateway {name}: options.{missing[0]}: missing")
    if row.secrets:
        raise BadSettings(f"gateway {name}: secrets: a modem's folders have none")
    return Modem(name, {folder: Path(row.options[folder]) for folder in FOLDERS})
