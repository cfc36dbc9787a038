"""The words of the hunter's pages from dialogs/chat/xx.toml, and the language they are shown in.

What the bot says is the dialog's; here stands what surrounds it. A page is shown in the language
that was picked on it, else in that of the talk, else in the browser's, of those that the
programme speaks: nobody is led to write in one that the bot cannot read.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask import request, session
from markupsafe import Markup, escape

from bot.talk.page_words import Tables, page_words
from bot.talk.state import Conversation
from bot.web import wired

PICKED = "chat_language"


@dataclass(frozen=True, slots=True)
class Speech:
    """The page's words in one language; English where it lacks one."""

    language: str
    tables: Tables

    def say(self, key: str, **values: object) -> str:
        """One sentence, filled in; {programme} and {keeper} are always known."""
        head = wired().programme.head
        always = {"programme": head.name, "keeper": head.privacy.keeper}
        return self._sentence(key).format_map({**always, **values})

    def say_with(self, key: str, **values: Markup) -> Markup:
        """One sentence around pieces of a page: what is no Markup is escaped."""
        return escape(self._sentence(key)).format_map(values)

    def raw(self, keys: tuple[str, ...]) -> dict[str, str]:
        """Sentences for the page's script, which fills them in itself."""
        return {key: self._sentence(key) for key in keys}

    def name_of(self, language: str) -> str:
        """A language by its own name."""
        return self.tables[language]["language"]

    def moment(self, at: datetime) -> str:
        """ "Wed 25 Nov, 07:05" in the programme's zone, in this language."""
        dialog, local = wired().dialog, at.astimezone(wired().programme.zone)
        days, months = (dialog.list(self.language, f"dates.{k}") for k in ("days", "months"))
        day = dialog.say(
            self.language,
            "dates.day",
            weekday=days[local.weekday()],
            day=local.day,
            month=months[local.month - 1],
        )
        return f"{day}, {local:%H:%M}"

    def _sentence(self, key: str) -> str:
        return self.tables[self.language].get(key) or self.tables["en"][key]


def languages() -> tuple[str, ...]:
    """The languages that the programme speaks and the pages have, in the programme's order."""
    tables = page_words(wired().dialog.files)
    spoken = wired().programme.head.languages
    return tuple(code for code in spoken if code in tables) or ("en",)


def speech_for(talk: Conversation | None) -> Speech:
    """The words for whoever asks, whose talk this is."""
    offered = languages()
    for code in (session.get(PICKED), talk.language if talk else ""):
        if code in offered:
            return Speech(str(code), page_words(wired().dialog.files))
    accepted = request.accept_languages.best_match(offered)
    return Speech(accepted or offered[0], page_words(wired().dialog.files))


def pick_language() -> None:
    """Keep the language that an address names (?lang=es), if it is offered."""
    if (code := request.args.get("lang")) in languages():
        session[PICKED] = code
