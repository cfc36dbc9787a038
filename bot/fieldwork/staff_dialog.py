"""PURE. What staff are told and listened for, loaded once from the text of TOML files.

The wording lives in dialogs/staff.toml; a language file may add the tables [staff.texts] and
[staff.words]. A fault is a StaffDialogError that names the file and the key.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from string import Formatter
from typing import Any

BASE = "staff.toml"
BASE_LANGUAGE = "en"

_WHERE = frozenset({"code", "place", "lat", "lon", "what"})
_JOB = _WHERE | {"contact", "km", "minutes", "until"}

PLACEHOLDERS: dict[str, frozenset[str]] = {
    "offer": _JOB,
    "assigned": _WHERE | {"contact"},
    "yours": frozenset({"code", "contact"}),
    "when_noted": frozenset({"code", "words"}),
    "no_noted": frozenset({"code"}),
    "no_noted_waits": frozenset({"code"}),
    "no_noted_nobody": frozenset({"code"}),
    "no_noted_other": frozenset({"code"}),
    "collected_noted": frozenset({"code"}),
    "handed_in_noted": frozenset({"code"}),
    "gone_noted": frozenset({"code"}),
    "nobody_home_noted": frozenset({"code"}),
    "no_access_noted": frozenset({"code"}),
    "in_vain_again": frozenset({"code"}),
    "wrong_head_noted": frozenset({"code"}),
    "told": frozenset({"code", "access", "contact"}),
    "contact_changed": frozenset({"code", "contact"}),
    "hunter_brings": frozenset({"code"}),
    "hunter_brought": frozenset({"code"}),
    "nothing_open": frozenset(),
    "access": frozenset({"access"}),
    "whole_carcase": frozenset(),
    "kept_noted": frozenset({"code"}),
    "called_off": frozenset({"code"}),
    "withdrawn": frozenset({"code", "name"}),
    "withdrawn_coordinator": frozenset({"code"}),
    "changed": _WHERE,
    "best_by": frozenset({"due"}),
    "round": frozenset({"minutes", "way"}),
    "round_straight": frozenset({"minutes", "way"}),
    "round_stop": frozenset({"number", "code", "place", "minutes"}),
    "round_stop_short": frozenset({"number", "code", "minutes"}),
    "round_more": frozenset({"number"}),
    "round_more_page": frozenset({"number"}),
    "round_none": frozenset(),
    "round_on_board": frozenset({"codes"}),
    "unsaid_what": frozenset(),
    "unsaid_place": frozenset(),
    "unsaid_contact": frozenset(),
    "not_offered": frozenset({"code", "coordinator"}),
    "already_yours": frozenset({"code"}),
    "already_collected": frozenset({"code"}),
    "taken_by_other": frozenset({"code", "name"}),
    "collected_by_other": frozenset({"code", "name"}),
    "handed_in_already": frozenset({"code"}),
    "called_off_already": frozenset({"code"}),
    "with_the_coordinator": frozenset({"code", "coordinator"}),
    "two_hold_it": frozenset({"code"}),
    "ask_which": frozenset({"code", "codes"}),
    "ask_unsure": frozenset({"code", "codes"}),
    "ask_meaning": frozenset({"code", "codes"}),
    "ask_code": frozenset({"code", "codes"}),
    "ask_report": frozenset({"code", "codes"}),
    "passed_on": frozenset({"codes"}),
}
"""Every text that a language must have, and what may stand in it. `<key>_visit` is optional."""

NEEDED = frozenset({"code", "name", "words", "lat", "lon", "contact", "due", "way", "access"})
"""Placeholders that no wording of a text may leave out where they are on offer."""

MEANINGS = (
    "yes",
    "ok",
    "filler",
    "no",
    "cant",
    "got_it",
    "collected",
    "handed_in",
    "not_there",
    "nobody_home",
    "no_access",
    "wrong_head",
    "unsure",
    "against",
    "report",
    "animals",
)
"""The lists of phrases in [words]. Beside them stand those in OTHER_LISTS."""

OTHER_LISTS = ("not_codes", "round", "round_beside", "time")
"""Words that are no codes, how a round is asked for, and the patterns of a time."""


_TOKEN = re.compile(r"[^\W_]+|[?✅❌👌👍👎]")


def tokens_of(text: str) -> tuple[str, ...]:
    """The plain small words of a text, apostrophes left out; a question mark and the few
    pictures that people answer with stand as words of their own."""
    return tuple(_TOKEN.findall(text.replace("'", "").lower()))


class StaffDialogError(ValueError):
    """The dialog's author is at fault; the message names the file and the key."""


@dataclass(frozen=True, slots=True)
class StaffWords:
    """What is listened for, in all languages together: phrases as tuples of plain words."""

    phrases: Mapping[tuple[str, ...], str]
    """A phrase to its meaning, one of MEANINGS."""
    longest: int
    vocabulary: frozenset[str]
    not_codes: frozenset[str]
    round: tuple[tuple[str, ...], ...]
    """How the round of the day is asked for, longest first."""
    round_beside: frozenset[str]
    """Single words that may stand beside it, and say nothing else."""
    times: tuple[re.Pattern[str], ...]


@dataclass(frozen=True, slots=True)
class StaffDialog:
    """The wording by language, and the words to listen for."""

    texts: Mapping[str, Mapping[str, str]]
    words: StaffWords

    def template(self, key: str, languages: tuple[str, ...], visit: bool) -> str:
        """One text's wording in the first of these languages that there is."""
        texts = next((self.texts[x] for x in languages if x in self.texts), None)
        texts = texts or self.texts[BASE_LANGUAGE]
        return (texts.get(f"{key}_visit") if visit else None) or texts[key]


def load_staff_dialog(files: Mapping[str, str]) -> StaffDialog:
    """The dialog from the texts of files by name: staff.toml, and any languages/xx.toml."""
    if BASE not in files:
        raise StaffDialogError(f"{BASE} is missing")
    texts: dict[str, Mapping[str, str]] = {}
    words: list[tuple[str, Mapping[str, Any]]] = []
    for name, text in files.items():
        table = _table(name, text)
        if table is None:
            continue
        language = BASE_LANGUAGE if name == BASE else name.rsplit("/", 1)[-1].removesuffix(".toml")
        texts[language] = _texts(name, table)
        words.append((name, _dict(name, "words", table.get("words", {}))))
    return StaffDialog(texts, _words(words))


def _table(name: str, text: str) -> Mapping[str, Any] | None:
    """The staff part of one file; None where a language file has none."""
    if name != BASE and not re.fullmatch(r"languages/[\w-]+\.toml", name):
        return None
    try:
        whole = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise StaffDialogError(f"{name}: {fault}") from fault
    return whole if name == BASE else whole.get("staff")


def _dict(name: str, key: str, value: object) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise StaffDialogError(f"{name}: {key}: not a table")
    return value


def _texts(name: str, table: Mapping[str, Any]) -> Mapping[str, str]:
    texts = _dict(name, "texts", table.get("texts"))
    for key in PLACEHOLDERS:
        if key not in texts:
            raise StaffDialogError(f"{name}: texts.{key}: missing")
    for key, wording in texts.items():
        if key.removesuffix("_visit") not in PLACEHOLDERS:
            raise StaffDialogError(f"{name}: texts.{key}: no such text")
        _check_wording(f"{name}: texts.{key}", wording, PLACEHOLDERS[key.removesuffix("_visit")])
    return dict(texts)


def _check_wording(where: str, wording: object, allowed: frozenset[str]) -> None:
    if not isinstance(wording, str) or not wording.strip():
        raise StaffDialogError(f"{where}: not a sentence")
    try:
        used = {field for _, field, _, _ in Formatter().parse(wording) if field is not None}
    except ValueError as fault:
        raise StaffDialogError(f"{where}: {fault}") from fault
    if strange := used - allowed:
        raise StaffDialogError(f"{where}: no placeholder {', '.join(sorted(strange))} here")
    # A text about several jobs may leave the single code out.
    needed = allowed & NEEDED if "codes" not in allowed else allowed & {"codes"}
    if missing := needed - used:
        raise StaffDialogError(f"{where}: placeholder {', '.join(sorted(missing))} is missing")


def _words(tables: list[tuple[str, Mapping[str, Any]]]) -> StaffWords:
    phrases: dict[tuple[str, ...], str] = {}
    for name, table in tables:
        for key in table:
            if key not in (*MEANINGS, *OTHER_LISTS):
                raise StaffDialogError(f"{name}: words.{key}: no such list")
        for meaning in MEANINGS:
            for phrase in _list(name, table, meaning):
                _add(phrases, f"{name}: words.{meaning}", phrase, meaning)
    return StaffWords(
        phrases=phrases,
        longest=max(map(len, phrases), default=1),
        vocabulary=frozenset(word for phrase in phrases for word in phrase),
        not_codes=frozenset(w for name, t in tables for w in _list(name, t, "not_codes")),
        round=_phrases(tables, "round"),
        round_beside=frozenset(w for words in _phrases(tables, "round_beside") for w in words),
        times=tuple(p for name, t in tables for p in _patterns(name, t)),
    )


def _phrases(tables: list[tuple[str, Mapping[str, Any]]], key: str) -> tuple[tuple[str, ...], ...]:
    """The phrases of one list in every language, longest first, each once."""
    found = (_key(f"{name}: words.{key}", p) for name, t in tables for p in _list(name, t, key))
    return tuple(sorted(dict.fromkeys(found), key=len, reverse=True))


def _key(where: str, phrase: str) -> tuple[str, ...]:
    key = tokens_of(phrase)
    if not key or key != tuple(phrase.split()):
        raise StaffDialogError(f"{where}: {phrase!r} is not plain small letters")
    return key


def _add(phrases: dict[tuple[str, ...], str], where: str, phrase: str, meaning: str) -> None:
    key = _key(where, phrase)
    # "cant" is both a refusal and what turns another phrase round; the refusal is what it means
    # when it stands by itself, and the reader looks for the other use.
    if meaning == "against" and key in phrases:
        return
    if phrases.setdefault(key, meaning) != meaning:
        raise StaffDialogError(f"{where}: {phrase!r} stands under {phrases[key]} too")


def _list(name: str, table: Mapping[str, Any], key: str) -> list[str]:
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise StaffDialogError(f"{name}: words.{key}: not a list of phrases")
    return value


def _patterns(name: str, table: Mapping[str, Any]) -> list[re.Pattern[str]]:
    found = []
    for pattern in _list(name, table, "time"):
        try:
            found.append(re.compile(pattern, re.IGNORECASE))
        except re.error as fault:
            raise StaffDialogError(f"{name}: words.time: {pattern!r}: {fault}") from fault
    return found
