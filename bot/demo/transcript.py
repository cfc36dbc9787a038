"""PURE. A transcript: a whole talk as plain text that reads aloud, and the values it stands for.

    All in one text
    Shows: what one rich first text costs, and who comes.
    Starts: Sat 21 Nov 2026 06:10
    hunter: 0491 570 006, Gil Marrow, after boars with two dogs

    +0:00 hunter> big boar, pus in a gland under the jaw ...
    +0:00 bot> Stop cutting there ...
    +0:00 bot to f1> Pickup K7R-4TX ...
    +0:09 f1> yes, be there about 8

    At the end
    pickup: taken by f1

bot/manual/transcripts.md lists every form. Long lines are folded; a fold reads as one space.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Literal

from msgspec import Struct

from bot.messages import Pin

Act = Literal[
    "texts", "waits", "corrects", "writes", "takes over", "hands back", "closes", "sends", "gives",
    "enters", "approves", "has told", "returns",
]  # fmt: skip
WIDTH = 100
_FOLD = "    "
_START = "%a %d %b %Y %H:%M"
_END = "At the end"
_FIELD = re.compile(r"(?P<key>[\w ]+):\s*(?P<value>.*)")


class TranscriptError(ValueError):
    """The transcript's author is at fault; the message names the line."""


class Person(Struct, frozen=True):
    """Somebody who is not on the roster: the name in the transcript, a number, and who it is."""

    key: str
    number: str
    about: str = ""


class Snap(Struct, frozen=True):
    """A picture that comes with a text, and what its EXIF says; `taken` counts from the start."""

    pin: Pin | None = None
    taken: timedelta | None = None


class Line(Struct, frozen=True):
    """One thing that happens, so long after the start.

    `who` is a person's key, a roster id or "bot"; `to` is whom the bot writes to, "" for the
    first person. `sent` is set where a text was sent earlier than it arrives; `again` where it
    is the very text with the same id that this person sent last. `arg` is what the act names:
    a question, a reason, a roster id.
    """

    at: timedelta
    who: str = ""
    act: Act = "texts"
    body: str = ""
    to: str = ""
    arg: str = ""
    sent: timedelta | None = None
    again: bool = False
    pin: Pin | None = None
    photo: Snap | None = None

    @property
    def by_bot(self) -> bool:
        """Whether the bot says it, so that it is an outcome and not part of the script."""
        return self.who == "bot"


class Transcript(Struct, frozen=True):
    """A talk with its header. `starts` is a local time; facts are (name, value), checked last."""

    title: str
    shows: str
    starts: datetime
    people: tuple[Person, ...]
    lines: tuple[Line, ...]
    facts: tuple[tuple[str, str], ...] = ()

    @property
    def script(self) -> tuple[Line, ...]:
        """What people do and when nobody does anything: all but the bot's own lines."""
        return tuple(line for line in self.lines if not line.by_bot)


# --------------------------------------------------------------------------------- reading one


def parse(text: str) -> Transcript:
    """The transcript of a file's text; TranscriptError names the line that cannot be read."""
    rows = _unfolded(text)
    title = next((row for _, row in rows if row), "")
    header: dict[str, str] = {}
    lines: list[Line] = []
    facts: list[tuple[str, str]] = []
    for number, row in rows[1:]:
        if not row:
            continue
        if row.startswith("+"):
            lines.append(_line(number, row))
        elif row == _END:
            continue
        elif field := _FIELD.fullmatch(row):
            if lines:
                facts.append((field["key"], field["value"]))
            else:
                header[field["key"]] = field["value"]
        else:
            raise TranscriptError(f"line {number}: neither a time nor a fact: {row!r}")
    return Transcript(
        title=title,
        shows=header.pop("Shows", ""),
        starts=_starts(header.pop("Starts", "")),
        people=tuple(_person(key, value) for key, value in header.items()),
        lines=tuple(lines),
        facts=tuple(facts),
    )


def _unfolded(text: str) -> list[tuple[int, str]]:
    """Each line with its number, a fold joined to the line that it goes on with."""
    rows: list[tuple[int, str]] = []
    for number, row in enumerate(text.splitlines(), 1):
        if row.startswith(_FOLD) and row.strip() and rows:
            first, start = rows[-1]
            rows[-1] = first, f"{start} {row.strip()}"
        else:
            rows.append((number, row.strip()))
    return rows


def _starts(value: str) -> datetime:
    try:
        return datetime.strptime(value, _START)
    except ValueError:
        raise TranscriptError(f"Starts: {value!r} is not like 'Sat 21 Nov 2026 06:10'") from None


def _person(key: str, value: str) -> Person:
    number, _, about = value.partition(", ")
    return Person(key, number, about)


_LINE = re.compile(r"\+(?P<at>(?:\d+d )?\d+:\d\d) (?P<head>[^>]+?)(?:> ?(?P<body>.*))?", re.DOTALL)
_SPAN = r"(?:\d+d )?\d+:\d\d"
_DEGREES = r"-?\d+(?:\.\d+)?"
_NOTES: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("sent", re.compile(rf"sent \+({_SPAN})")),
    ("again", re.compile("again")),
    ("pin", re.compile(rf"pin ({_DEGREES}) ({_DEGREES})(?: within (\d+) m)?")),
    ("photo", re.compile(rf"photo(?: at ({_DEGREES}) ({_DEGREES}))?(?: taken ([+-]{_SPAN}))?")),
)
_ACTS: tuple[tuple[Act, re.Pattern[str]], ...] = (
    ("corrects", re.compile(r"(?P<who>\S+) corrects (?P<arg>\w+)")),
    ("writes", re.compile(r"(?P<who>\S+) writes")),
    ("takes over", re.compile(r"(?P<who>\S+) takes over")),
    ("hands back", re.compile(r"(?P<who>\S+) hands back")),
    ("closes", re.compile(r"(?P<who>\S+) closes as (?P<arg>\w+)")),
    ("sends", re.compile(r"(?P<who>\S+) sends somebody")),
    ("gives", re.compile(r"(?P<who>\S+) gives it to (?P<arg>\S+)")),
    ("enters", re.compile(r"(?P<who>\S+) enters (?P<arg>[a-z]+(?: [a-z_]+)?)")),
    ("approves", re.compile(r"(?P<who>\S+) approves the result")),
    ("has told", re.compile(r"(?P<who>\S+) has told the authority")),
    ("returns", re.compile(r"(?P<who>\S+) says of the jaw: (?P<arg>\w+)")),
    ("waits", re.compile(r"\(nobody writes\)")),
    ("texts", re.compile(r"(?P<who>\S+?)(?: to (?P<to>\S+))?")),
)


def _line(number: int, row: str) -> Line:
    found = _LINE.fullmatch(row)
    if found is None:
        raise TranscriptError(f"line {number}: not like '+0:05 hunter> words': {row!r}")
    head, *notes = found["head"].split(", ")
    for act, pattern in _ACTS:
        if (said := pattern.fullmatch(head)) and (act != "texts" or found["body"] is not None):
            fields = {k: v for k, v in said.groupdict().items() if v}
            noted = dict(_note(number, note) for note in notes)
            body = (found["body"] or "").replace("\\n", "\n")
            return Line(_span(found["at"]), act=act, body=body, **fields, **noted)  # type: ignore[arg-type]
    raise TranscriptError(f"line {number}: nobody can {head!r}")


def _note(number: int, note: str) -> tuple[str, object]:
    for kind, pattern in _NOTES:
        if found := pattern.fullmatch(note):
            return kind, _noted(kind, *found.groups())
    raise TranscriptError(f"line {number}: no such note: {note!r}")


def _noted(kind: str, *values: str | None) -> object:
    first, second, third = (*values, None, None, None)[:3]
    if kind == "again":
        return True
    if kind == "sent":
        return _span(first or "")
    pin = Pin(float(first), float(second)) if first and second else None
    if kind == "pin" and pin and third:
        return Pin(pin.lat, pin.lon, float(third))
    return pin if kind == "pin" else Snap(pin, _span(third) if third else None)


def _span(text: str) -> timedelta:
    """ "2d 3:05", "-0:40" -> a timedelta."""
    sign = -1 if text.startswith("-") else 1
    days, _, clock = text.lstrip("+-").rpartition("d ")
    hours, minutes = clock.split(":")
    return sign * timedelta(days=int(days or 0), hours=int(hours), minutes=int(minutes))


# --------------------------------------------------------------------------------- writing one


def write(transcript: Transcript) -> str:
    """The transcript as text; `parse` gives the same transcript back."""
    rows = [
        transcript.title,
        f"Shows: {transcript.shows}",
        f"Starts: {_day_and_time(transcript.starts)}",
    ]
    rows += [f"{p.key}: {', '.join(filter(None, (p.number, p.about)))}" for p in transcript.people]
    before = timedelta(0)
    rows.append("")
    for line in transcript.lines:
        if line.at - before >= timedelta(hours=1):
            rows.append("")
        rows.append(write_line(line))
        before = line.at
    if transcript.facts:
        rows += ["", _END, *(f"{name}: {value}" for name, value in transcript.facts)]
    return "".join(f"{folded}\n" for row in rows for folded in _folded(row))


def _day_and_time(at: datetime) -> str:
    return f"{at:%a} {at.day} {at:%b %Y %H:%M}"


def write_line(line: Line) -> str:
    """One line, unfolded."""
    head = f"{clock(line.at)} {', '.join((_said(line), *_notes(line)))}"
    if line.act in ("texts", "writes", "corrects") or line.body:
        body = line.body.replace("\n", "\\n")
        return f"{head}> {body}".rstrip()
    return head


def clock(at: timedelta) -> str:
    """ "+0:05", from a day on "+2d 3:05"; "-0:40" before the start."""
    minutes = round(abs(at).total_seconds() / 60)
    days, rest = divmod(minutes, 1440)
    sign = "-" if at < timedelta(0) else "+"
    return f"{sign}{f'{days}d ' if days else ''}{rest // 60}:{rest % 60:02d}"


def _said(line: Line) -> str:
    match line.act:
        case "waits":
            return "(nobody writes)"
        case "texts":
            return f"{line.who} to {line.to}" if line.to else line.who
        case "corrects":
            return f"{line.who} corrects {line.arg}"
        case "closes":
            return f"{line.who} closes as {line.arg}"
        case "gives":
            return f"{line.who} gives it to {line.arg}"
        case "sends":
            return f"{line.who} sends somebody"
        case "enters":
            return f"{line.who} enters {line.arg}"
        case "approves":
            return f"{line.who} approves the result"
        case "has told":
            return f"{line.who} has told the authority"
        case "returns":
            return f"{line.who} says of the jaw: {line.arg}"
        case _:
            return f"{line.who} {line.act}"


def _notes(line: Line) -> Iterator[str]:
    if line.sent is not None:
        yield f"sent {clock(line.sent)}"
    if line.again:
        yield "again"
    if line.pin:
        within = "" if line.pin.accuracy_m == Pin(0, 0).accuracy_m else line.pin.accuracy_m
        yield f"pin {_degrees(line.pin)}{f' within {within:.0f} m' if within else ''}"
    if line.photo:
        place = f" at {_degrees(line.photo.pin)}" if line.photo.pin else ""
        taken = f" taken {clock(line.photo.taken)}" if line.photo.taken is not None else ""
        yield f"photo{place}{taken}"


def _degrees(pin: Pin) -> str:
    return f"{pin.lat:.5f} {pin.lon:.5f}"


def _folded(row: str) -> list[str]:
    """The row over several lines where it is long, and where unfolding gives it back."""
    if len(row) <= WIDTH or "  " in row:
        return [row]
    return textwrap.wrap(
        row, WIDTH, subsequent_indent=_FOLD, break_long_words=False, break_on_hyphens=False
    )
