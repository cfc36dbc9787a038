"""Times of day: the grammar of clocks ("6.30pm", "18h30", "half past six") and of the parts of
the day ("arvo", "first light", "en fin de matinée"). What each narrows stands in hours.py.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import islice

from msgspec.structs import replace

from bot.reading.date_label import Labelled
from bot.reading.pieces import MOST, Clock, Part, Token, count, said

_HOUR = "(?:N[-j]?n|[1#nNz])"
_ALONE = "(?![.-]?[Cu4pY9#1_mzy]|cm)"
"""What may not follow a number that is to be a time: something counted, or more of a date."""

_FIGURE = re.compile(r"(\d{1,2})(?:[^\d]{0,3}?(\d\d))?(?::\d\d)?(?:[.,]\d+)?\s?(?:([ap])\.?\s?m)?")


_CLOSE_FIGURES = re.compile(r"^(\d{1,2})(\d\d)(?= ?[ap]m)")


def _written(tokens: Sequence[Token]) -> Clock | None:
    """6.30pm, 14:15, 18h30, 8 a.m."""
    text = _CLOSE_FIGURES.sub(r"\1:\2", tokens[-1].text)  # "630pm"
    m = _FIGURE.match(text)
    if m is None:
        return None
    half = {"a": "am", "p": "pm"}.get(m[3] or "", "")
    if not half and (len(m[1]) == 2 or "h" in text):
        half = "24"
    return _clock(int(m[1]), int(m[2] or 0), half, hour_only=m[2] is None, alone=True)


def _clock(
    hour: int, minute: int, half: str = "", *, hour_only: bool = False, alone: bool = False
) -> Clock | None:
    """A time that can be, or None: 14 pm, 25:12 and 0 am are none."""
    if minute > 59 or hour > 24 or (half in ("am", "pm") and not 1 <= hour <= 12):
        if not (half == "pm" and 13 <= hour <= 23 and not hour_only):
            return None
        half = "24"
    if half in ("am", "pm"):
        hour = hour % 12 + (12 if half == "pm" else 0)
        half = "24"
    elif hour > 12 or hour == 0:
        half = "24"
    if hour == 24:
        return None if minute else Clock(1439, "24", alone=alone)
    return Clock(hour * 60 + minute, half, hour_only=hour_only, alone=alone)


def _hour(tokens: Sequence[Token]) -> Clock | None:
    """20h, "8 o'clock", "at 8", "à 3 heures": only beside a day."""
    unit = said(tokens, "unit")
    if unit not in (None, "hour"):
        return None
    figure = next((t for t in tokens if t.letter in "H1#"), None)
    if figure is None and len(tokens) == 1 and said(tokens, "number") == 1:
        return None  # "this one last night"
    number = int(re.findall(r"\d+", figure.text)[0]) if figure else count(tokens)
    if number is None or number > 24:
        return None
    # "18h" is said by the 24-hour clock; "5ish" and "5 hrs" are not.
    firm = figure is not None and figure.text.endswith("h") and not figure.text.endswith("ish")
    return _clock(int(number), 0, "24" if firm and number > 4 else "", hour_only=True)


def _between(tokens: Sequence[Token]) -> Clock | None:
    """ "5-7pm", "5 or 6 last night", "7am till 9am": from the one to the other."""
    at = next(i for i, t in enumerate(tokens) if i and t.letter in "-jR")
    clock = _from_one_to(tokens[:at], tokens[at + 1 :])
    # "Shot 2 and 5pm" tells of two things; only hours in a row are one time.
    return clock if clock and (tokens[at].letter == "-" or clock.length == 60) else None


def _from_to(tokens: Sequence[Token]) -> Clock | None:
    """ "between 3 and 5 pm", "from 6 to 8", "entre las 3 y las 5"."""
    rest = tokens[1:]
    at = next(i for i, t in enumerate(rest) if i and t.letter in "jMA-")
    if tokens[0].values.get("mark") == "from":
        return _from_one_to(rest[:at], rest[at + 1 :])
    if rest[at].letter == "M":
        return _past_or_to(rest) if rest[-1].letter != "k" else _written(rest[-1:])
    return _between(rest)


def _from_of(tokens: Sequence[Token]) -> Clock | None:
    """ "de 15h à 17h", "de 6 a 8 de la tarde"; in "of 2 by 6 last night" only the last is one."""
    at = next(i for i, t in enumerate(tokens) if i > 1 and t.letter in "Af")
    one, two = tokens[1:at], tokens[at + 1 :]
    if tokens[at].letter == "A" or tokens[at].values.get("mark") == "until":
        return _from_one_to(one, two)
    return _end(two)


def _half_of(tokens: Sequence[Token]) -> Clock | None:
    """ "half five" is half past five, as it is said in Britain, Ireland, Australia and New
    Zealand; no other language here says it so."""
    half = next(t for t in tokens if t.letter == "r")
    hour = count([t for t in tokens if t.letter in "1#nNz"])
    known = half.values.get("mark") == "half" and hour is not None and 1 <= hour <= 12
    return _shifted(int(hour or 0), 30) if known else None


def _from_one_to(one: Sequence[Token], two: Sequence[Token]) -> Clock | None:
    first, second = _end(one), _end(two)
    if first is None or second is None:
        return None
    both = first.half == "24" and second.half == "24"
    length = (second.minute - first.minute) % (1440 if both else 720)
    if not 0 < length <= _LONGEST:
        return None
    start, half = first.minute, first.half
    if second.half == "24" and not half:  # "3 to 5 pm": the half of the day is said of both
        start, half = (second.minute - length) % 1440, "24"
    return Clock(start, half, length=length, alone=second.alone)


_LONGEST = 720
"""Minutes from one end of a time to the other, beyond which it is no time any more."""


def _end(tokens: Sequence[Token]) -> Clock | None:
    said_so = [t for t in tokens if t.letter in "kH1#nNz"]
    if not said_so:
        return None
    return _written(said_so) if said_so[-1].letter == "k" else _hour(said_so)


def _point(tokens: Sequence[Token]) -> Clock | None:
    """ "at 6.30": hours and minutes with a point, only after "at" or "about"."""
    m = re.fullmatch(r"(\d{1,2})[.,](\d\d)", tokens[-1].text)
    return _clock(int(m[1]), int(m[2])) if m else None


def _four(tokens: Sequence[Token]) -> Clock | None:
    """0630, 1830 hrs."""
    text = next(t.text for t in tokens if t.letter in "Y4")
    alone = text[0] == "0" or any(t.letter in "gu" for t in tokens)
    return _clock(int(text[:2]), int(text[2:]), "24", alone=alone)


_MINUTES = {"quarter": 15, "half": 30}


def _minute_words(tokens: Sequence[Token]) -> int | None:
    mark = said(tokens, "mark")
    if mark in _MINUTES:
        return _MINUTES[str(mark)]
    number = count(tokens)
    return None if number is None else int(number)


def _spoken(tokens: Sequence[Token]) -> Clock | None:
    """ "las doce menos cuarto", "trois heures et demie", "las once y cuarenta y cinco"."""
    at = next(i for i, t in enumerate(tokens) if i > 1 and t.letter in "jM")
    hour, minutes = count([t for t in tokens[:at] if t.letter in "1#nNz"]), None
    minutes = _minute_words(tokens[at + 1 :])
    if hour is None or minutes is None:
        return None
    return _shifted(int(hour), -minutes if tokens[at].letter == "M" else minutes)


def _past_or_to(tokens: Sequence[Token]) -> Clock | None:
    """ "half past six", "quarter to seven", "ten past five"."""
    at = next(i for i, t in enumerate(tokens) if t.letter in "Ml")
    minutes, hour = _minute_words(tokens[:at]), count(tokens[at + 1 :])
    if hour is None or minutes is None or minutes > 59:
        return None
    return _shifted(int(hour), -minutes if tokens[at].letter == "M" else minutes)


def _shifted(hour: int, minutes: int) -> Clock | None:
    total = (hour * 60 + minutes) % 1440
    return _clock(total // 60 or (12 if hour <= 12 else 0), total % 60)


Build = Callable[[Sequence[Token]], Clock | None]

ROWS: tuple[tuple[str, str, Build], ...] = (
    (
        "from_to",
        f"f[TA]{{0,2}}(?:k|H|{_HOUR})u?(?:[jM-][TA]{{0,2}}|A)(?:k|H|{_HOUR})(?:g|u(?!a))?{_ALONE}",
        _from_to,
    ),
    (
        "from_of",
        f"c(?:k|H)A(?:k|H)|c[TA]{{0,2}}{_HOUR}f[TA]{{0,2}}(?:k|{_HOUR}(?=[icTL]{{0,2}}t?s|D))",
        _from_of,
    ),
    ("half", f"[A~]?r{_HOUR}(?=[icTL]{{0,2}}t?s|D)|[A~]r{_HOUR}{_ALONE}", _half_of),
    ("between", f"{_HOUR}[-jR](?:k|{_HOUR}(?=[icTL]{{0,2}}t?s|D))|k-k", _between),
    ("written", "[A~]{0,2}k", _written),
    ("spoken", f"[A~]{_HOUR}u?(?:j(?:[rv]|Nj?n|[1#nN])|M(?:[rv]|N[-j]?n|[1#nN]))", _spoken),
    ("past_or_to", f"[A~]?(?:r|v|[1#nN])[Ml]{_HOUR}{_ALONE}", _past_or_to),
    (
        "oclock",
        f"[A~]{{0,2}}{_HOUR}g|[A~]{_HOUR}u(?!a)|{_HOUR}u(?=t?s)|[A~]{{0,2}}H(?![C_])",
        _hour,
    ),
    ("four", f"[A~]{{1,2}}[Y4]{_ALONE}|[Y4](?:g|u)|(?<=[dysDm1#O])4{_ALONE}|4(?=[dysD])", _four),
    ("point", f"(?:[A~]{{1,2}}|(?<=[dDys]))p{_ALONE}", _point),
    ("hour", f"[A~]{{1,2}}{_HOUR}{_ALONE}|(?<![KGFC_nN]){_HOUR}(?=[icTL]{{0,2}}t?s|D)", _hour),
)
# No row begins with another letter, and most letters are others.
_GRAMMAR = re.compile(
    "(?=[A~kHrv1#nNzY4p]|[fc][TA]{0,2}[kH1#nNz])(?:"
    + "|".join(f"(?:{row})()" for _, row, _ in ROWS)
    + ")"
)
_BUILD = dict(enumerate((build for _, _, build in ROWS), 1))

_PART = re.compile("(?P<pre>[iA~c]?[TL]?)(?P<e>e?)(?:[icTLA]{0,2})s(?P<post>(?:[cL]{0,2}e)?)")


def clocks_said(text: Labelled) -> list[Clock]:
    """Every time of day in a labelled text, in order."""
    found: list[Clock] = []
    for m in islice(_GRAMMAR.finditer(text.letters), MOST):
        first, last = m.span()
        tokens = text.tokens(first, last)
        clock = _BUILD[m.lastindex or 0](tokens)
        if clock is not None:
            start, end = tokens[0].start, tokens[-1].end
            about = clock.about or "~" in m[0] or tokens[-1].text.endswith("ish")
            found.append(replace(clock, about=about, first=first, last=last, start=start, end=end))
    return found


LIGHT = ("first_light", "sunrise", "sunset", "last_light")
"""Parts of the day that the sun gives, said only of a time: enough without a day."""


def parts_said(text: Labelled) -> list[Part]:
    """Every part of the day, in order; "alone" where the words leave no doubt that it is one."""
    found: list[Part] = []
    if "s" not in text.letters:
        return found
    for m in islice(_PART.finditer(text.letters), MOST):
        first, last = m.span()
        run = text.tokens(first, last)
        part = str(said(run, "part"))
        shade = str(next((t.values["mark"] for t in run if t.letter == "e"), ""))
        if not shade and text.letters[max(first - 2, 0) : first][-2:-1] == "e":
            shade = _shade_apart(text, first)
        alone = part in LIGHT or bool(m["pre"]) or bool(m["e"]) or _is_phrase(run)
        found.append(Part(part, shade, alone, first, last, run[0].start, run[-1].end))
    return found


def _shade_apart(text: Labelled, first: int) -> str:
    """The "late" of "late yesterday arvo", which stands before the day."""
    early, day = text.tokens(first - 2, first)
    return str(early.values["mark"]) if day.letter in "Ddy" else ""


def _is_phrase(tokens: Sequence[Token]) -> bool:
    """Whether a part of the day was said in several words: not a greeting like "morning"."""
    return any("part" in t.values and t.end - t.start > len(t.text) for t in tokens)
