"""Whose text is it, and which conversation does it belong to: decided before any `step`.

Pure: the shell gathers the Facts. A number on the roster with no open offer, no job and no code
is a hunter like any other; where a text fits both, it is asked.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Literal

from msgspec import Struct

from bot.reading.codes import find_codes
from bot.reading.values import Reading

STALE = timedelta(days=14)
"""A conversation that has rested this long takes no new text that reports a sign or a place."""


class OpenTalk(Struct, frozen=True):
    """One conversation of the sender, as routing sees it."""

    code: str
    stage: str
    last_at: datetime
    asked: str = ""
    core_known: bool = False
    dead_by: datetime | None = None
    """When the day of the death was told: the animal of this talk did not die later."""


class Facts(Struct, frozen=True):
    """What the shell knows of a sender: own conversations, newest last; offers and jobs by code."""

    at: datetime
    talks: tuple[OpenTalk, ...] = ()
    offers: tuple[str, ...] = ()
    jobs: tuple[str, ...] = ()
    is_staff: bool = False
    held_choice: bool = False
    """Whether "pickup or find?" was asked of this number and is still open."""


class Route(Struct, frozen=True):
    """Where a text goes. `code` is the find's; "" with kind "find" begins a new one."""

    kind: Literal["find", "field", "which"]
    code: str = ""


def route(facts: Facts, body: str, reading: Reading, field_reply: bool) -> Route:
    """Pick the conversation of a text.

    `field_reply` says whether the staff reader understood it as an answer to an offer or a job.
    """
    code = _named_code(body, facts)
    if facts.is_staff and (facts.offers or facts.jobs):
        on_the_job = code in facts.offers or code in facts.jobs
        if on_the_job:
            return Route("field", code)
        reports = _reports(reading)
        if field_reply and not reports:
            asked = any(t.asked for t in facts.talks)
            return Route("which") if asked and not facts.held_choice else Route("field")
        if field_reply and reports:
            return Route("which")
    return Route("find", code or _own_talk(facts, reading))


def _named_code(body: str, facts: Facts) -> str:
    """A code of the sender's own that stands in the text; anybody else's tells nothing."""
    known = {t.code for t in facts.talks} | set(facts.offers) | set(facts.jobs)
    return next((code for code in find_codes(body) if code in known), "")


def _reports(reading: Reading) -> bool:
    """Whether a text reads as a report of a find."""
    return bool(reading.signs or reading.checked or (reading.places and reading.animal))


def _own_talk(facts: Facts, reading: Reading) -> str:
    """The sender's newest conversation that this text goes on with, or "" for a new one."""
    talks = [t for t in facts.talks if t.stage != "closed"]
    if not talks:
        return _last_closed(facts, reading)
    newest = max(talks, key=lambda t: t.last_at)
    if any(w.kind == "another" for w in reading.words) and newest.core_known:
        return ""
    rested = facts.at - newest.last_at > STALE
    elsewhere = newest.stage == "settled" and bool(reading.places)
    if _reports(reading) and (rested or elsewhere or _died_since(newest, reading)):
        return ""
    return newest.code


def _died_since(talk: OpenTalk, reading: Reading) -> bool:
    """Whether a text tells of a death after the talk's animal was already told of as dead."""
    if talk.dead_by is None or not talk.core_known or reading.when is None:
        return False
    return reading.when.value.earliest > talk.dead_by


def _last_closed(facts: Facts, reading: Reading) -> str:
    """A word of thanks after the end belongs to what ended; a report begins anew."""
    recent = [t for t in facts.talks if facts.at - t.last_at <= STALE]
    fresh = _reports(reading) or reading.places or reading.animal or reading.when
    return "" if fresh or not recent else max(recent, key=lambda t: t.last_at).code
