"""The only file that knows the dialogs' TOML: texts of files -> a frozen Dialog.

A fault is a DialogError that names the file and the key. `hash` names the very files a dialog
came from, so that an old conversation can be replayed with what was in force.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from string import Formatter
from typing import Any, Literal, TypeVar

import msgspec
from msgspec import Struct

from bot.programme import content_hash
from bot.reading.words import Words, load_words

T = TypeVar("T")

Kind = Literal[
    "signs",
    "place",
    "when",
    "animal",
    "head_place",
    "storage",
    "phone",
    "land",
    "name",
    "jaw",
    "access",
    "depot",
    "hand_in",
]


class DialogError(ValueError):
    """The dialog author's mistake; the message names the file and the key."""


class Question(Struct, frozen=True, forbid_unknown_fields=True):
    """One question of report.toml. `ask_when` maps a fact to the values for which it is asked."""

    key: str
    kind: Kind
    ask: str
    again: str
    offer: str
    remind: str
    tries: int = 2
    ask_when: dict[str, tuple[str, ...]] = {}


class Advice(Struct, frozen=True, forbid_unknown_fields=True):
    """What is said at once, and whether a person or a pickup follows from it."""

    say: str
    rank: int = 0
    review: str = ""
    at_once: bool = False
    pickup: bool = False


class AdviceFile(Struct, frozen=True, forbid_unknown_fields=True):
    """The shape of advice.toml."""

    kind: dict[str, Advice]
    exposure: dict[str, Advice]
    trouble: dict[str, Advice]


class CheckStep(Struct, frozen=True, forbid_unknown_fields=True):
    """One step of the guided look at the glands: a site of signs.toml, and its side."""

    key: str
    site: str
    ask: str
    side: Literal["left", "right", ""] = ""


class CheckFile(Struct, frozen=True, forbid_unknown_fields=True):
    """The shape of gland_check.toml."""

    version: int = 1
    step: tuple[CheckStep, ...] = ()
    say: dict[str, str] = {}


class ReportFile(Struct, frozen=True, forbid_unknown_fields=True):
    """The shape of report.toml."""

    version: int
    question: tuple[Question, ...]
    say: dict[str, Any]


@dataclass(frozen=True)
class Dialog:
    """Every question and sentence of the hunter's conversation, in every language."""

    questions: tuple[Question, ...]
    advice: AdviceFile
    sentences: Mapping[str, Mapping[str, str]]
    lists: Mapping[str, Mapping[str, tuple[str, ...]]]
    words: Words
    hash: str
    files: Mapping[str, str]
    check_steps: tuple[CheckStep, ...] = ()
    """The steps of the guided look at the glands; none where its file is missing."""

    @cached_property
    def by_key(self) -> Mapping[str, Question]:
        """The questions by their keys."""
        return {q.key: q for q in self.questions}

    def say(self, language: str, key: str, **values: object) -> str:
        """The sentence of a key in a language, English where it has none, filled in."""
        sentence = self.sentences.get(language, {}).get(key) or self.sentences["en"][key]
        return sentence.format_map(values)

    def list(self, language: str, key: str) -> tuple[str, ...]:
        """A list of names (days, months) in a language, English where it has none."""
        return self.lists.get(language, {}).get(key) or self.lists["en"][key]


def read_dialogs(folder: Path) -> dict[str, str]:
    """The texts of all TOML files below a folder, by their path in it."""
    files = {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(folder.rglob("*.toml"))
    }
    for name in ("report.toml", "advice.toml", "languages/en.toml"):
        if name not in files:
            raise DialogError(f"{name} is missing from the folder {folder}")
    return files


def load_dialog(files: Mapping[str, str]) -> Dialog:
    """Turn the texts of a dialogs folder into a Dialog, or say what is wrong where."""
    report = _decode("report.toml", files, ReportFile)
    advice = _decode("advice.toml", files, AdviceFile)
    name = "gland_check.toml"
    check = _decode(name, files, CheckFile) if name in files else CheckFile()
    english = dict((*_english(report, advice), *_english_check(check)))
    sentences, lists = _split({"en": english, **_translations(files)})
    return Dialog(
        questions=report.question,
        advice=advice,
        sentences=sentences,
        lists=lists,
        words=load_words(files),
        hash=content_hash(files),
        files=dict(files),
        check_steps=check.step,
    )


def placeholders(sentence: str) -> frozenset[str]:
    """The names between braces; a broken brace is a ValueError."""
    return frozenset(name for _, name, _, _ in Formatter().parse(sentence) if name)


def _decode(name: str, files: Mapping[str, str], shape: type[T]) -> T:
    try:
        return msgspec.toml.decode(files[name], type=shape)
    except KeyError:
        raise DialogError(f"{name} is missing") from None
    except (msgspec.DecodeError, tomllib.TOMLDecodeError) as fault:
        raise DialogError(f"{name}: {fault}") from fault


def _english(report: ReportFile, advice: AdviceFile) -> Iterator[tuple[str, Any]]:
    for question in report.question:
        for part in ("ask", "again", "offer", "remind"):
            yield f"{question.key}.{part}", getattr(question, part)
    for group in ("kind", "exposure", "trouble"):
        for key, block in getattr(advice, group).items():
            yield f"{group}.{key}", block.say
    yield from _flat(report.say)


def _english_check(check: CheckFile) -> Iterator[tuple[str, str]]:
    for step in check.step:
        yield f"gland_check.{step.key}", step.ask
    for key, sentence in check.say.items():
        yield f"gland_check.{key}", sentence


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value


def _translations(files: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for name, text in files.items():
        if name.startswith("languages/") and name != "languages/en.toml":
            try:
                table = tomllib.loads(text).get("say", {})
            except tomllib.TOMLDecodeError as fault:
                raise DialogError(f"{name}: {fault}") from fault
            found[Path(name).stem] = dict(_flat(table))
    return found


def _split(
    everything: Mapping[str, Mapping[str, Any]],
) -> tuple[dict[str, dict[str, str]], dict[str, dict[str, tuple[str, ...]]]]:
    """Sentences and lists apart; a broken placeholder is named with its language and key."""
    sentences: dict[str, dict[str, str]] = {}
    lists: dict[str, dict[str, tuple[str, ...]]] = {}
    for language, table in everything.items():
        sentences[language], lists[language] = {}, {}
        for key, value in table.items():
            if isinstance(value, list):
                lists[language][key] = tuple(map(str, value))
                continue
            try:
                placeholders(str(value))
            except ValueError as fault:
                raise DialogError(f"languages/{language}.toml: say.{key}: {fault}") from fault
            sentences[language][key] = str(value)
    return sentences, lists
