"""Tokens of one angle -> its value in degrees, with what its last digit fixes and its fault.

An angle carries its own fault (minutes of 60, a minus beside a letter) instead of raising, so
that a reading can be asked about with the hunter's own words.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from msgspec import Struct

from bot.reading.angle_tokens import HEMISPHERES, NEGATIVE, Token


class Angle(Struct, frozen=True):
    """One angle in degrees. `axis` is lat, lon or "" for unsaid; `unit` in degrees; `parts` is
    how many numbers it has, `decimals` those of the last; `signed` by a sign or a letter."""

    value: float
    unit: float
    parts: int
    decimals: int
    axis: str = ""
    signed: bool = False
    marked: bool = False
    fault: str = ""


def read_angle(core: Sequence[Token], letter: Token | None, label: str = "") -> Angle:
    """The angle of a core's tokens, with the letter or the label that goes with it."""
    axis = label
    if letter is not None:
        axis = "lon" if HEMISPHERES[letter.text] == "O" else "lat"
    numbers, fault = _numbers(core, axis)
    value, last = 0.0, numbers[-1]
    for power, number in enumerate(numbers):
        value += float(number) / 60**power
    decimals = len(last.partition(".")[2])
    sign = core[0].kind if core[0].kind in "+-" else ""
    letter_negative = letter is not None and letter.text in NEGATIVE
    return Angle(
        value=-value if sign == "-" or letter_negative else value,
        unit=10.0 ** -min(decimals, 12) / 60.0 ** (len(numbers) - 1),
        parts=len(numbers),
        decimals=decimals,
        axis=axis,
        signed=bool(sign) or letter is not None,
        marked=any(t.kind in "DMS" for t in core),
        fault=fault
        or _contradiction(sign, letter, letter_negative)
        or _too_big(numbers, value, axis),
    )


def _contradiction(sign: str, letter: Token | None, negative: bool) -> str:
    """A minus beside any letter, or a plus beside south or west, says two things at once."""
    if letter is not None and sign and (sign == "-" or negative):
        return "contradiction"
    return ""


def _too_big(numbers: Sequence[str], value: float, axis: str) -> str:
    if any(float(n) >= 60 for n in numbers[1:]):
        return "minutes_over_59"
    return "lat_over_90" if value > (90 if axis == "lat" else 180) else ""


def _numbers(core: Sequence[Token], axis: str) -> tuple[list[str], str]:
    """The numbers of an angle as written, degrees first."""
    numbers = [t.text.replace(",", ".") for t in core if t.kind in "if"]
    if numbers:
        return numbers, ""
    whole = next(t for t in core if t.kind in "tx")
    if whole.kind == "t":
        return _triple(whole.text), ""
    return _compact(whole.text, axis)


def _triple(text: str) -> list[str]:
    """ "27.15.45,2" and "40:7:22.8" -> their numbers; "40:26.77" and "36.52.404" are degrees
    and minutes."""
    text = text.replace(",", ".")
    if ":" in text:
        return text.split(":")
    parts = text.split(".")
    if len(parts) == 3 and len(parts[2]) == 3:
        return [parts[0], f"{parts[1]}.{parts[2]}"]
    return [*parts[:2], ".".join(parts[2:])]


def _compact(text: str, axis: str) -> tuple[list[str], str]:
    """ "4007.38" -> 40 and 07.38; "0740722.8" -> 074, 07 and 22.8. The count of figures before
    the point tells: degrees are two for a latitude, two or three for a longitude."""
    whole, point, decimals = text.partition(".")
    pairs = len(whole) // 2 - 1
    if pairs not in (1, 2) or (axis != "lon" and len(whole) % 2):
        return ["0"], "odd_digits"
    degrees = len(whole) - 2 * pairs
    numbers = [whole[:degrees], *re.findall("..", whole[degrees:])]
    numbers[-1] += point + decimals
    return numbers, ""
