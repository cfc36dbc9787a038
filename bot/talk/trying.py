"""PURE. A stored conversation under two dialogs: the very same events, and where the talks part.

Nothing is sent and nothing stored: `step` decides, and what it decides is only looked at.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from msgspec import Struct

from bot.messages import AskCoordinator, Effect, Event, PersonWrote, SendText, Text
from bot.programme import Programme
from bot.talk.conversation import NotUnderstood, step
from bot.talk.dialog import Dialog
from bot.talk.segments import segments_of
from bot.talk.sorting import CannotSort
from bot.talk.state import Conversation


class Played(Struct, frozen=True):
    """How one conversation goes: its lines, and what it costs in texts, segments and people."""

    lines: tuple[str, ...]
    texts: int = 0
    segments: int = 0
    handovers: int = 0


class Parting(Struct, frozen=True):
    """A talk that goes otherwise: as it goes by the old dialog and by the new, and the diff."""

    code: str
    old: Played
    new: Played
    diff: tuple[str, ...]


def play(
    first: Conversation, events: Iterable[Event], dialog: Dialog, programme: Programme
) -> Played:
    """Run a conversation's events through a dialog. What it refuses is passed over, as it was
    when a person was told so."""
    talk, lines, effects = first, list[str](), list[Effect]()
    for event in events:
        if isinstance(event, Text | PersonWrote):
            lines.append(f"{'hunter' if isinstance(event, Text) else 'person'}: {event.body}")
        try:
            talk, led_to = step(talk, event, dialog, programme)
        except (NotUnderstood, CannotSort):
            continue
        effects += led_to
        lines += [line for effect in led_to if (line := _line(effect))]
    texts = [e.body for e in effects if isinstance(e, SendText) and e.kind != "person"]
    handovers = sum(isinstance(e, AskCoordinator) for e in effects)
    return Played(tuple(lines), len(texts), sum(map(segments_of, texts)), handovers)


def _line(effect: Effect) -> str:
    if isinstance(effect, SendText) and effect.kind != "person":
        return f"bot: {effect.body}"
    return f"to a person: {effect.reason}" if isinstance(effect, AskCoordinator) else ""


def part(
    first: Conversation,
    events: tuple[Event, ...],
    dialogs: tuple[Dialog, Dialog],
    programme: Programme,
) -> Parting | None:
    """Where a talk parts between an old and a new dialog; None where it goes the same."""
    old, new = (play(first, events, dialog, programme) for dialog in dialogs)
    if old == new:
        return None
    rows = difflib.unified_diff(old.lines, new.lines, lineterm="", n=1)
    diff = tuple(row for row in rows if not row.startswith(("---", "+++", "@@")))
    return Parting(first.code, old, new, diff)
