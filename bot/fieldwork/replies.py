"""PURE. A member of staff's text -> an answer about one job, or the question to ask back.

Law: nothing is taken for an answer that can be read two ways. A bare word is enough while only
one job can be meant; a second miss goes to the coordinator with the words kept.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from bot.fieldwork.listening import Listened, listen
from bot.fieldwork.staff_dialog import StaffDialog, StaffWords
from bot.fieldwork.staff_texts import staff_text
from bot.programme import Programme

Answer = Literal[
    "yes", "no", "collected", "handed_in", "not_there", "nobody_home", "no_access", "wrong_head"
]

IN_VAIN = ("wrong_head", "not_there", "no_access", "nobody_home")
"""Why nothing was fetched, what says the most first: "nobody home and the head is gone"."""


class OfferView(Struct, frozen=True):
    """One offer that was made to this number: still open, or lapsed and not long past."""

    code: str
    open: bool = True


class JobView(Struct, frozen=True):
    """One pickup that this number has: taken or collected."""

    code: str
    state: Literal["taken", "collected"] = "taken"


class StaffReply(Struct, frozen=True):
    """An answer about one pickup, fit for a FieldReply. `words` is a time in his own words, or
    the whole text where a person must read it."""

    code: str
    answer: Answer
    words: str = ""
    heard: str = ""


class Ask(Struct, frozen=True):
    """It can't be read one way: what to ask back, and about which codes."""

    why: Literal["which", "unsure", "meaning", "code", "report"]
    codes: tuple[str, ...]
    heard: str


class PassOn(Struct, frozen=True):
    """A second miss: the words go to the coordinator, and the writer is told."""

    codes: tuple[str, ...]
    heard: str


class Noted(Struct, frozen=True):
    """Thanks, or an ok to what needs no answer: nothing is to be done or said."""

    heard: str


class NothingOpen(Struct, frozen=True):
    """An answer, and nothing is open to him that it could be about."""

    heard: str


class NotStaff(Struct, frozen=True):
    """He writes as a hunter like any other: the text belongs in a conversation."""

    heard: str


StaffReading = StaffReply | Ask | PassOn | Noted | NothingOpen | NotStaff

SHORT_ANSWER = 6
"""Words to which a text is no more than an answer, where nobody has asked anything."""


def read_reply(
    body: str,
    offers: tuple[OfferView, ...],
    jobs: tuple[JobView, ...],
    words: StaffWords,
    misses: int = 0,
) -> StaffReading:
    """Read one text of a member of staff. `misses` counts his unread texts since the last
    answer: after one, a question becomes a PassOn."""
    if not offers and not jobs:
        return _out_of_the_blue(body, words)
    codes = tuple(dict.fromkeys([*(o.code for o in offers), *(j.code for j in jobs)]))
    reading = _read(body, listen(body, codes, words), offers, jobs)
    if isinstance(reading, Ask) and misses:
        return PassOn(reading.codes, body)
    return reading


def _out_of_the_blue(body: str, words: StaffWords) -> NothingOpen | NotStaff:
    """A bare answer of somebody who was asked nothing; anything more is a hunter's text."""
    said = listen(body, (), words).meanings
    bare = len(body.split()) <= SHORT_ANSWER and not said & {"report", "animals"}
    return NothingOpen(body) if bare and said & {*_SAYS_SOMETHING, "filler"} else NotStaff(body)


def ask_text(ask: Ask | PassOn | NothingOpen, dialog: StaffDialog, programme: Programme) -> str:
    """The text that asks back, or that says where the words have gone."""
    if isinstance(ask, NothingOpen):
        return staff_text(dialog, programme, "nothing_open", {})
    key = "passed_on" if isinstance(ask, PassOn) else f"ask_{ask.why}"
    code = ask.codes[0] if ask.codes else ""
    return staff_text(dialog, programme, key, {"code": code, "codes": ", ".join(ask.codes)})


def _read(
    body: str, said: Listened, offers: tuple[OfferView, ...], jobs: tuple[JobView, ...]
) -> StaffReading:
    open_now = tuple(o.code for o in offers if o.open)
    live = tuple(dict.fromkeys((*open_now, *(j.code for j in jobs)))) or tuple(
        o.code for o in offers
    )
    if not said.codes and "report" in said.meanings:
        return Ask("report", live, body) if _SAYS_SOMETHING & said.meanings else NotStaff(body)
    if said.strange_codes and not said.codes:
        return Ask("code", live, body)
    if len(said.codes) > 1:
        return Ask("which", said.codes, body)
    answer = _answer(said, open_now, jobs)
    if answer == "noted":
        return Noted(body)
    if answer == "unsure" or answer == "meaning":
        return _unread(body, said, answer, live)
    return _about(body, said, answer, offers, jobs, live)


def _unread(
    body: str, said: Listened, why: Literal["unsure", "meaning"], live: tuple[str, ...]
) -> StaffReading:
    if why == "meaning" and not said.codes and "animals" in said.meanings:
        return Ask("report", live, body)
    return Ask(why, said.codes or live, body)


_SAYS_SOMETHING = frozenset(
    {"yes", "ok", "no", "cant", "got_it", "collected", "handed_in", *IN_VAIN, "unsure"}
)

Weighed = Answer | Literal["got_it", "ok", "time", "unsure", "meaning", "noted"]

# What a text that says these things together means; the first row whose meanings cover what was
# said, and of which the first was said, decides. Anything else is asked.
_WEIGHED: tuple[tuple[str, frozenset[str], Weighed], ...] = (
    ("handed_in", frozenset({"collected", "got_it", "yes", "ok"}), "handed_in"),
    ("collected", frozenset({"got_it", "yes", "ok"}), "collected"),
    ("wrong_head", frozenset({*IN_VAIN, "no", "cant", "ok"}), "wrong_head"),
    ("not_there", frozenset({*IN_VAIN, "no", "cant", "ok"}), "not_there"),
    ("no_access", frozenset({*IN_VAIN, "no", "cant", "ok"}), "no_access"),
    ("nobody_home", frozenset({*IN_VAIN, "no", "cant", "ok"}), "nobody_home"),
    ("cant", frozenset({"no", "ok"}), "no"),
    ("no", frozenset({"ok"}), "no"),
    ("got_it", frozenset({"yes", "ok"}), "got_it"),
    ("yes", frozenset({"ok"}), "yes"),
    ("ok", frozenset(), "ok"),
)


def _weigh(said: Listened) -> Weighed:
    meant = said.meanings & _SAYS_SOMETHING
    if "unsure" in meant:
        return "unsure"
    for first, besides, weighed in _WEIGHED:
        if first in meant and meant <= besides | {first}:
            return weighed
    if meant:
        return "meaning"
    if said.time:
        return "time"
    return "noted" if "filler" in said.meanings and not said.codes else "meaning"


def _answer(
    said: Listened, open_now: tuple[str, ...], jobs: tuple[JobView, ...]
) -> Answer | Literal["unsure", "meaning", "noted"]:
    """What is meant, given what is open: "got it" is a yes to an offer, and a head in hand
    for one who has taken the job."""
    weighed = _weigh(said)
    taken = [j.code for j in jobs if j.state == "taken"]
    if weighed == "got_it":
        if said.codes or (taken and not open_now):
            return "collected"
        return "yes" if "yes" in said.meanings and open_now and not taken else "meaning"
    if weighed == "noted":
        return "meaning" if open_now else "noted"
    if weighed == "time":
        # A time alone is news of a job; to an offer it may be a yes, or the earliest he could.
        job = any(code in taken for code in said.codes) if said.codes else not open_now
        return "yes" if taken and job else "meaning"
    if weighed == "ok" or weighed == "yes":
        if said.codes or open_now or not jobs or (said.time and taken):
            return "yes"
        # Nothing is open to say yes to: it is manners.
        return "noted"
    return weighed


def _about(
    body: str,
    said: Listened,
    answer: Answer,
    offers: tuple[OfferView, ...],
    jobs: tuple[JobView, ...],
    live: tuple[str, ...],
) -> StaffReading:
    """The one pickup that the answer can be about, or the question which."""
    if said.codes:
        codes: tuple[str, ...] = said.codes
    else:
        groups = _candidates(answer, "cant" in said.meanings, offers, jobs)
        codes = next((group for group in groups if group), ())
    if len(codes) != 1:
        return Ask("which" if codes else "meaning", codes or live, body)
    whole = answer in (*IN_VAIN, "no")
    return StaffReply(codes[0], answer, body.strip() if whole else said.time, body)


def _candidates(
    answer: Answer,
    refuses: bool,
    offers: tuple[OfferView, ...],
    jobs: tuple[JobView, ...],
) -> tuple[tuple[str, ...], ...]:
    """Which codes a bare answer may be about: the first group that is not empty counts."""
    open_now = tuple(o.code for o in offers if o.open)
    lapsed = tuple(o.code for o in offers if not o.open) if not jobs else ()
    taken = tuple(j.code for j in jobs if j.state == "taken")
    collected = tuple(j.code for j in jobs if j.state == "collected")
    return {
        "yes": (open_now, taken, lapsed),
        # A bare "no" gives no job back: that takes "can't" or the code.
        "no": (open_now, taken if refuses else (), lapsed),
        "collected": (taken, open_now, collected),
        "handed_in": (collected, taken, open_now),
    }.get(answer, (taken, open_now, collected))
