"""What a person is told of the evidence, from the whole sentences in dialogs/evidence.toml.

Law: no sentence names whose land it was, says that there is no disease, or judges meat; a
probability stands beside the level it is meant for; and what is not available is said to be so.
"""

from __future__ import annotations

import string
from collections.abc import Mapping
from datetime import datetime, timedelta

import msgspec
from msgspec import Struct

from bot.evidence.letter import LETTER, PAGE, Letter, Page
from bot.evidence.window import Band, Range, Sex, Window
from bot.evidence.zones import ZoneResult

SENTENCES: dict[str, frozenset[str]] = {
    "young_positive": frozenset({"start", "end", "near"}),
    "old_positive": frozenset({"start", "end", "near"}),
    "open_positive": frozenset({"end", "near"}),
    "no_age_positive": frozenset({"end", "near"}),
    "wide": frozenset({"wide"}),
    "wide_unknown": frozenset(),
    "far": frozenset({"far"}),
    "no_distance": frozenset(),
    "lag": frozenset({"lag"}),
    "no_lag": frozenset(),
    "rough": frozenset(),
    "zone_positive": frozenset({"zone", "positives", "last"}),
    "zone_nothing": frozenset({"zone"}),
    "zone_pending": frozenset({"zone", "suspects"}),
    "zone_clean": frozenset({"zone", "animals", "pstar", "sse"}),
    "zone_pfree": frozenset({"zone", "pfree", "pstar"}),
    "zone_pfree_unknown": frozenset({"zone"}),
    "zone_moves": frozenset({"moves"}),
    "zone_move": frozenset({"name", "low", "high"}),
    "not_available": frozenset(),
    "nearly_all": frozenset(),
    "nearly_none": frozenset(),
}
"""Every sentence, and the only placeholders that it may hold."""


class EvidenceError(ValueError):
    """evidence.toml is at fault; the message names the key."""


class Say(Struct, frozen=True, forbid_unknown_fields=True):
    """The [say] table: a sentence for each key of SENTENCES."""

    young_positive: str
    old_positive: str
    open_positive: str
    no_age_positive: str
    wide: str
    wide_unknown: str
    far: str
    no_distance: str
    lag: str
    no_lag: str
    rough: str
    zone_positive: str
    zone_nothing: str
    zone_pending: str
    zone_clean: str
    zone_pfree: str
    zone_pfree_unknown: str
    zone_moves: str
    zone_move: str
    not_available: str
    nearly_all: str
    nearly_none: str
    names: dict[str, str]
    counts: dict[str, str]


class Book(Struct, frozen=True, forbid_unknown_fields=True):
    """evidence.toml as a whole. `several` names words for more than one species, `sexes` the sex
    that a sort of animal tells."""

    version: int
    say: Say
    ranges: list[Range]
    page: Page
    letter: dict[str, Letter]
    several: dict[str, list[str]] = {}
    sexes: dict[str, Sex] = {}


def load_sentences(text: str) -> Book:
    """evidence.toml, checked: no sentence holds a placeholder that is not its own."""
    try:
        book = msgspec.toml.decode(text, type=Book)
    except (msgspec.DecodeError, ValueError) as fault:
        raise EvidenceError(f"evidence.toml: {fault}") from fault
    _check("say", book.say, SENTENCES)
    _check("page", book.page, PAGE)
    for language, letter in book.letter.items():
        _check(f"letter.{language}", letter, LETTER)
    return book


def _check(table: str, sentences: object, known: Mapping[str, frozenset[str]]) -> None:
    for key, allowed in known.items():
        sentence = getattr(sentences, key)
        used = {name for _, name, _, _ in string.Formatter().parse(sentence) if name}
        if used - allowed:
            raise EvidenceError(f"evidence.toml: {table}.{key}: no {{{min(used - allowed)}}} here")


def tell_window(book: Book, window: Window, band: Band) -> tuple[str, ...]:
    """The sentence on one positive animal, then its caveats, for the coordinator."""
    say = book.say
    lines = {
        "young": say.young_positive,
        "old": say.old_positive,
        "open": say.open_positive,
        "no_age": say.no_age_positive,
    }
    main = lines[window.kind].format(
        start=_day(window.start) if window.start else say.not_available,
        end=_day(window.end - timedelta(minutes=1)),
        near=_km(band.near, say),
    )
    lag = say.lag.format(lag=f"{window.lag_months:g}") if window.lag_months else say.no_lag
    return (main, *_distances(say, band), lag, say.rough)


def tell_zone(
    book: Book, result: ZoneResult, last_death: datetime | None = None
) -> tuple[str, ...]:
    """What one zone's evidence comes to. `last_death` is the latest of its confirmed animals."""
    say, pstar = book.say, percent(result.assumptions.pstar, book.say)
    if result.confirmed:
        positives = _counted(say, "positives", result.confirmed)
        last = _day(last_death) if last_death else say.not_available
        return (say.zone_positive.format(zone=result.zone, positives=positives, last=last),)
    if result.pending:
        suspects = _counted(say, "suspects", result.pending)
        return (say.zone_pending.format(zone=result.zone, suspects=suspects),)
    if not result.animals or result.sse is None:
        return (say.zone_nothing.format(zone=result.zone),)
    clean = say.zone_clean.format(
        zone=result.zone,
        animals=_counted(say, "animals", result.animals),
        pstar=pstar,
        sse=percent(result.sse, say),
    )
    if result.pfree is None:
        return (clean, say.zone_pfree_unknown.format(zone=result.zone))
    free = say.zone_pfree.format(zone=result.zone, pfree=percent(result.pfree, say), pstar=pstar)
    return (clean, free, _moves(say, result))


def _distances(say: Say, band: Band) -> list[str]:
    if band.near is None:
        return [say.no_distance]
    lines = []
    if band.wide is None:
        lines.append(say.wide_unknown)
    elif band.wide > band.near:
        lines.append(say.wide.format(wide=_km(band.wide, say)))
    if band.far is not None:
        lines.append(say.far.format(far=_km(band.far, say)))
    return lines


def _moves(say: Say, result: ZoneResult) -> str:
    moves = "; ".join(
        say.zone_move.format(name=say.names[n], low=percent(low, say), high=percent(high, say))
        for n, (low, high) in result.moves.items()
    )
    return say.zone_moves.format(moves=moves)


def _counted(say: Say, what: str, count: int) -> str:
    return say.counts[f"{what}_one" if count == 1 else f"{what}_many"].format(count=count)


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%b %Y}"


def _km(value: float | None, say: Say) -> str:
    return say.not_available if value is None else f"{value:.3g}"


def percent(value: float | None, say: Say) -> str:
    """Whole percent, rounded down and never up to certainty; two digits where it is small."""
    if value is None:
        return say.not_available
    if value > 0.99:
        return say.nearly_all
    if 0 < value < 1e-4:
        return say.nearly_none
    return f"{100 * value:.2g} %" if value < 0.1 else f"{int(100 * value + 1e-9)} %"
