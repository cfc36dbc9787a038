"""PURE. One text to a member of staff, filled in and short enough: two segments, GSM-7.

Names of places and people are shortened before anything else is; the code, the coordinates,
the numbers and how to answer always stand in full.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from datetime import datetime

from bot.fieldwork.staff_dialog import PLACEHOLDERS, StaffDialog
from bot.fieldwork.state import Offer, Pickup
from bot.programme import Programme
from bot.talk.segments import MOST_SEGMENTS, clip, is_gsm7, segments_of

SHORTENED = ("place", "what", "access", "words", "name", "codes")
"""What may lose words at its end, so that a text keeps to its length."""

LONGEST_CONTACT = 40
"""Room for a number with a short name; a number by itself is never cut (E.164 has 15 digits)."""

FEWEST = 3
"""A value is never cut below this many characters: two dots and a letter still say 'cut'."""


def staff_text(
    dialog: StaffDialog,
    programme: Programme,
    key: str,
    values: Mapping[str, str],
    also: tuple[str, ...] = (),
    *,
    visit: bool = False,
) -> str:
    """The text under `key` in the programme's language, at most two segments long. `also` are
    the keys of more sentences at its end, the last of them left out where they are too many;
    `visit` words it for what stays where it lies, as the programme's law does of itself."""
    visit = visit or not programme.head.law.head_may_move
    filled = {k: v.strip() or _unsaid(dialog, programme, k) for k, v in values.items()}
    languages = programme.head.languages
    templates = [dialog.template(k, languages, visit) for k in (key, *also) if k]
    text = fitted(" ".join(templates), filled)
    while segments_of(text) > MOST_SEGMENTS and len(templates) > 1:
        templates.pop()  # What is left out still stands on the page of the job.
        text = fitted(" ".join(templates), filled)
    return text


def fitted(template: str, values: Mapping[str, str]) -> str:
    """Fill a template; while it is too long, the longest value that may be cut loses its end."""
    filled = {k: _folded(v) if is_gsm7(template) else v for k, v in values.items()}
    text = template.format(**filled)
    while segments_of(text) > MOST_SEGMENTS:
        key = max((k for k in SHORTENED if k in filled), key=lambda k: len(filled[k]), default="")
        if not key or len(filled[key]) <= FEWEST:
            return text
        filled[key] = clip(filled[key], max(FEWEST, len(filled[key]) - 3))
        text = template.format(**filled)
    return text


def job_values(pickup: Pickup, programme: Programme) -> dict[str, str]:
    """What every text about one pickup may name. Five decimals are about a metre."""
    return {
        "code": pickup.code,
        "place": pickup.place_words,
        "lat": f"{pickup.lat:.5f}",
        "lon": f"{pickup.lon:.5f}",
        "what": pickup.details,
        "contact": clip(pickup.contact, LONGEST_CONTACT),
        "coordinator": programme.head.contacts.coordinator,
        "words": pickup.words,
        "access": pickup.access,
        "due": day_and_clock(pickup.best_by, programme) if pickup.best_by else "",
    }


def offer_values(offer: Offer, programme: Programme) -> dict[str, str]:
    """The way and the deadline of one offer; the deadline by the programme's clock."""
    return {
        "km": f"{offer.km:.0f}",
        "minutes": f"{offer.minutes:.0f}",
        "until": clock(offer.until, programme),
    }


def clock(at: datetime, programme: Programme) -> str:
    """The local time of day, "14:05"."""
    return f"{at.astimezone(programme.zone):%H:%M}"


def day_and_clock(at: datetime, programme: Programme) -> str:
    """The local day and time in figures, in the programme's order: "23/11 14:05"."""
    day = "%m/%d" if programme.head.date_order == "MDY" else "%d/%m"
    return f"{at.astimezone(programme.zone):{day} %H:%M}"


def _unsaid(dialog: StaffDialog, programme: Programme, name: str) -> str:
    """What stands for a value that nobody has given."""
    key = f"unsaid_{name}"
    return dialog.template(key, programme.head.languages, False) if key in PLACEHOLDERS else ""


def _folded(words: str) -> str:
    """Words in GSM-7: accents that it lacks are dropped, a character it lacks becomes "?"."""
    if is_gsm7(words):
        return words
    return "".join(c if is_gsm7(c) else _bare(c) for c in words)


def _bare(character: str) -> str:
    bare = "".join(
        c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c)
    )
    if unicodedata.combining(character):
        return ""
    return bare if bare and is_gsm7(bare) else "?"
