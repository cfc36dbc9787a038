"""PURE: the words of the hunter's pages, dialogs/chat/xx.toml: one flat table a language.

Kept apart from what the bot says: these are pages' sentences, and cost nothing by length.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache

from bot.talk.dialog import DialogError

FOLDER = "chat/"
Tables = Mapping[str, Mapping[str, str]]


def page_words(files: Mapping[str, str]) -> Tables:
    """The words by language and key, out of the files of a dialog; DialogError names the file
    that is missing or at fault."""
    names = sorted(name for name in files if name.startswith(FOLDER))
    return _read(tuple((name, files[name]) for name in names))


@lru_cache(maxsize=8)
def _read(files: tuple[tuple[str, str], ...]) -> Tables:
    tables: dict[str, dict[str, str]] = {}
    for name, text in files:
        try:
            read = tomllib.loads(text)
        except tomllib.TOMLDecodeError as fault:
            raise DialogError(f"{name}: {fault}") from fault
        if not all(isinstance(words, str) for words in read.values()):
            raise DialogError(f"{name}: holds something but text")
        tables[name.removeprefix(FOLDER).removesuffix(".toml")] = read
    if "en" not in tables:
        raise DialogError(f"{FOLDER}en.toml is missing")
    return tables
