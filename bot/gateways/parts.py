"""A part of a long text in a request, for carriers that do not join them (TS 23.040, 9.2.3.24)."""

from __future__ import annotations

from collections.abc import Mapping

from bot.gateways import payload
from bot.gateways.places import Opened, path_of
from bot.gateways.protocol import BadBody, BadSettings
from bot.gateways.userdata import MOST_PARTS, read_header
from bot.messages import Part

COUNTED = ("part_ref", "part_total", "part_number")


def part_of(opened: Opened, options: Mapping[str, str]) -> Part | None:
    """Which part a text is; None for a whole one, which has no such fields or one part only."""
    to = opened.given(options.get("to"))
    told = payload.as_key(to, path_of(options["to"])) if to is not None else ""
    if "part_header" in options:
        return _by_header(opened, options["part_header"], told)
    if "part_ref" not in options or opened.given(options["part_total"]) in (None, "", 0, 1, "1"):
        return None
    low, most = (0, 1, 1), (65535, MOST_PARTS, MOST_PARTS)
    ref, total, number = (
        payload.as_whole(opened.at(options[name]), path_of(options[name]), low[n], most[n])
        for n, name in enumerate(COUNTED)
    )
    if number > total:
        raise BadBody(path_of(options["part_number"]), "more than there are parts")
    return Part(ref, total, number, told)


def _by_header(opened: Opened, place: str, to: str) -> Part | None:
    given = opened.given(place)
    if not given:
        return None
    try:
        data = bytes.fromhex(payload.as_text(given, path_of(place)))
    except ValueError:
        raise BadBody(path_of(place), "not hexadecimal") from None
    header, _ = read_header(data)
    return Part(header.ref, header.total, header.number, to) if header else None


def check_parts(options: Mapping[str, str]) -> None:
    """BadSettings where the options on parts do not hold together."""
    given = [name for name in COUNTED if name in options]
    if given and len(given) < len(COUNTED):
        missing = next(name for name in COUNTED if name not in options)
        raise BadSettings(f"options.{missing}: missing, since {given[0]} is set")
    if given and "part_header" in options:
        raise BadSettings("options.part_header: either that or part_ref")
