"""How warm the air is where the head lies, where a text says it unmistakably: degrees Celsius.

Law: a figure counts only with its scale ("30C", "95 F") or among words of the weather ("28 degrees
here", "35 in the shade"), then on the scale of the programme's country. Whatever may be a
coordinate, a bearing, a freezer, a fever or a price is left alone; so are two figures that differ.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from bot.reading.page import Page
from bot.reading.scan import lowered
from bot.reading.values import Word

FAHRENHEIT_COUNTRIES = frozenset({"US", "BS", "BZ", "FM", "KY", "LR", "MH", "PW"})
"""Where the weather is told in Fahrenheit. Common knowledge, from memory: no list is published by
any standards body."""

COLDEST_C, HOTTEST_C = -30.0, 50.0
"""Outside this a figure is no air that anybody hunts in."""

_FIGURE = r"(?<![\w.,/:°'+-])(?P<figure>-?\d{1,3}(?:[.,]\d)?)(?![\d.,:/]\d|\d)"
_DEGREES = r"(?:\s?°|\s?(?:degrees?|degs?|grados|degr[eé]s)\b)"
_SHADE = r"in\s(?:the\s)?shade|a\sla\ssombra|[aà]\sl'ombre"
_NAMED = r"celsius|centigrade|centigrados|fahrenheit"
_NOW = (
    r"[ ,]{0,2}(?:(?:right\s|out\s)?here|today|outside|at\sthe\smoment"
    rf"|this\s(?:arvo|morning|afternoon)|aqu[ií]|hoy|ici|aujourd'hui|dehors|{_SHADE})\b"
)
_SCALED = re.compile(
    rf"{_FIGURE}(?:(?P<mark>{_DEGREES})\s?(?P<loose>[cf])\b|\s?(?P<letter>[CF])\b|"
    rf"(?:{_DEGREES})?\s?(?P<word>{_NAMED})\b)",
    re.IGNORECASE,
)
_BARE = re.compile(rf"{_FIGURE}{_DEGREES}", re.IGNORECASE)
_SHADED = re.compile(rf"{_FIGURE}(?:{_DEGREES})?\s(?:{_SHADE})\b", re.IGNORECASE)
_WEATHER = re.compile(_NOW, re.IGNORECASE)
_WARM = re.compile(
    rf"\d(?=[\s°cdfg])(?:(?:{_DEGREES})?(?:\s?(?:[cf]|{_NAMED})\b|\s(?:{_SHADE})\b)|{_DEGREES}{_NOW})"
)
"""What every temperature of the air holds, in small letters; it begins with a figure, so that most
of a text is passed over at once."""

_AIR = re.compile(
    r"\b(?:air|hot|weather|day|today|outside|shade|here|scorcher|heat|calor|hoy|chaud|aujourd'hui)\b",
    re.IGNORECASE,
)
_ELSE_BEFORE = re.compile(
    r"(?:freez\w*|fridge\w*|chill\w*|esky|cool\s?room|cooler|cooled|ice|oven|smok\w+|water|body|blood"
    r"|fever|temperature\sof|cook\w*|boil\w*|roast\w*|kept|stored|set|down\sto|up\sto|inside|head\w*|meat"
    r"|core|bearing|facing|turn\w*|slope|angle|azimuth|mag\w*|lat\w*|lon\w*|rotat\w*|aim\w*|grid|zone|utm"
    r"|minus|congel\w*|nevera|frigo\w*|fiebre|fi[eè]vre|rumbo|cap|\$)[^.;\n]{0,14}$",
    re.IGNORECASE,
)
_ELSE_AFTER = re.compile(
    r"^(?:\s?['\"]|[ ,]{0,2}\d|\s?[NSEWO]\b"
    r"|\s?(?:north|south|east|west|true|magnetic|mag|min\w*|slope|angle|bearing)\b"
    r"|[^.;\n]{0,24}\b(?:freezer|fridge|chiller|esky|cool\s?room|cold\s?room|oven|smoker|water"
    r"|nevera|congelador|frigo)\b)",
    re.IGNORECASE,
)


def read_air(page: Page, country: str) -> tuple[Word, ...]:
    """The one temperature of the air that a text gives, struck from the page; else nothing. The
    word's key is degrees Celsius ("28", "35"), read by `float`."""
    if not _WARM.search(lowered(page.left)):
        return ()
    found = [w for w in _readings(page, country) if COLDEST_C <= float(w.key) <= HOTTEST_C]
    if len({w.key for w in found}) != 1:
        return ()
    for word in found:
        page.strike(word.start, word.end)
    return (found[0],)


def _readings(page: Page, country: str) -> Iterator[Word]:
    """Every stretch that can only be a temperature of the air."""
    plain = page.left
    taken: set[int] = set()
    for match in _SCALED.finditer(plain):
        letter = match["loose"] or match["letter"] or match["word"]
        # "30c" may be thirty cents and "30F" a woman of thirty: such a letter by itself needs the
        # weather beside it.
        doubtful = match["letter"] is not None and match["letter"] != "C"
        if _is_air(plain, match, needs_weather=doubtful):
            taken.add(match.start())
            yield _word(page, match, letter[0].upper() == "F")
    fahrenheit = country in FAHRENHEIT_COUNTRIES
    bare = [m for m in _BARE.finditer(plain) if m.start() not in taken]
    shaded = [m for m in _SHADED.finditer(plain) if m.start() not in taken]
    if not country or len(bare) > 1:  # Two of them are a position.
        return
    for match in shaded or [m for m in bare if _WEATHER.match(plain[m.end() :])]:
        if not match["figure"].startswith("-") and _is_air(plain, match, needs_weather=False):
            yield _word(page, match, fahrenheit)


def _is_air(plain: str, match: re.Match[str], *, needs_weather: bool) -> bool:
    before, after = plain[: match.start()], plain[match.end() :]
    if _ELSE_BEFORE.search(before) or _ELSE_AFTER.match(after):
        return False
    told = bool(_AIR.search(plain))
    return told or not (needs_weather or re.search(r"\bat\s*$", before, re.IGNORECASE))


def _word(page: Page, match: re.Match[str], fahrenheit: bool) -> Word:
    degrees = float(match["figure"].replace(",", "."))
    celsius = (degrees - 32) * 5 / 9 if fahrenheit else degrees
    heard = page.heard(*match.span())
    return Word("air", f"{round(celsius, 1):g}", heard, *match.span())
