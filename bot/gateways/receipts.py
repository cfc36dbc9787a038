"""What an SMPP carrier reports of a text: states by number, or words within a text of its own.

States: SMPP 3.4, section 5.2.28. The words are those of its appendix B, "id:... stat:DELIVRD
err:000 text:...", which is only an example there and is what carriers send all the same.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Literal

from bot.gateways.protocol import Report

State = Literal["accepted", "delivered", "undeliverable"]

BY_NUMBER: dict[int, State] = {
    1: "accepted",  # ENROUTE
    2: "delivered",
    3: "undeliverable",  # EXPIRED
    4: "undeliverable",  # DELETED
    5: "undeliverable",
    6: "accepted",  # ACCEPTED: read by somebody on the hunter's behalf
    7: "accepted",  # UNKNOWN
    8: "undeliverable",  # REJECTED
}
BY_WORD: dict[str, State] = {
    "DELIVRD": "delivered",
    "EXPIRED": "undeliverable",
    "DELETED": "undeliverable",
    "UNDELIV": "undeliverable",
    "REJECTD": "undeliverable",
}
_ID = re.compile(r"\bid:\s*([^\s:]+)", re.IGNORECASE)
_STAT = re.compile(r"\bstat:\s*([A-Z]{5,9})", re.IGNORECASE)
_ERR = re.compile(r"\berr:\s*(\w{1,8})", re.IGNORECASE)


def read_receipt(
    words: str, named: str, state: int | None, hex_ids: bool, at: datetime
) -> Report | None:
    """The report of a receipt, None if it names no text. `named` and `state` are what its
    optional parameters say ("" and None where it has none).

    `hex_ids`: the carrier gives its id in hexadecimal on taking a text, and in decimal here; the
    report then has it as it was given first.
    """
    found = _ID.search(words)
    name = found.group(1) if found else named
    if not name:
        return None
    if hex_ids and name.isdecimal():
        name = f"{int(name):x}"
    stat, err = _STAT.search(words), _ERR.search(words)
    word = stat.group(1).upper() if stat else ""
    number = BY_NUMBER.get(state) if state is not None else None
    reason = " ".join(filter(None, (word or str(state or ""), err.group(1) if err else "")))
    return Report(name, BY_WORD.get(word) or number or "accepted", at, reason)


def plain_id(given: str, hex_ids: bool) -> str:
    """The id that a carrier gave on taking a text, as `read_receipt` will name it."""
    if not hex_ids:
        return given
    try:
        return f"{int(given, 16):x}"
    except ValueError:
        return given
