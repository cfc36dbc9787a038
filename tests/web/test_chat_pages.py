"""The chat's own pages: in three languages, installable, and with drawings only where a programme
guides a look at the glands."""

from __future__ import annotations

import io
import re
import tomllib
from dataclasses import replace
from functools import cache

import pytest
from msgspec.structs import replace as changed
from PIL import Image

from bot.checking import check_pages
from bot.gateways.chat import Chat
from bot.programme import GatewayRow, load_programme
from bot.reading.read import read
from bot.scenes import scene_for
from bot.service.desk_rows import ChatTalk
from bot.talk.dialog import DialogError
from bot.talk.page_words import page_words
from bot.talk.segments import segments_of, spell_for_sms
from bot.talk.state import Conversation
from bot.web.chat_kept import SIZES
from tests.web.wires import DIALOG, NOW, PROGRAMME, client_of, make_wiring

LANGUAGES = ("en", "es", "fr")
GUIDED = "guided_check = true\n"
VERDICT = re.compile(r"\b(safe|edible|fit to eat|apt[oa]|segur[oa]|comestible|sûre?)\b", re.I)


class QuietDesk:
    """A chat in which one talk may stand."""

    def __init__(self, talk=None):
        self.talk = talk

    def chat_talk(self, session, after=0):
        return ChatTalk((), 0, self.talk)


@cache
def programme(extra="", languages=LANGUAGES):
    spoken = f"languages = {list(languages)}"
    head = re.sub(r"languages = .*", spoken, PROGRAMME.files["programme.toml"])
    files = {**PROGRAMME.files, "programme.toml": (extra + head).replace("'", '"')}
    return load_programme(files)


def browser(talk=None, **parts):
    parts.setdefault("programme", programme())
    return client_of(make_wiring(QuietDesk(talk), **parts))


def language_of(page) -> str:
    return re.search(r'<html lang="(\w+)"', page.get_data(as_text=True)).group(1)


# --------------------------------------------------------------------------------------- words


def test_each_language_has_every_sentence_with_the_same_names_in_it():
    assert list(check_pages(DIALOG, LANGUAGES)) == []
    spoilt = DIALOG.files["chat/es.toml"].replace("{metres}", "{meters}").replace("you =", "yo =")
    found = [
        f.where
        for f in check_pages(
            replace(DIALOG, files={**DIALOG.files, "chat/es.toml": spoilt}), LANGUAGES
        )
    ]
    assert found[:2] == ["chat/es.toml: yo", "chat/es.toml: you"]
    assert "chat/es.toml: here_found" in found


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_code_costs_one_text(language):
    words = page_words(DIALOG.files)[language]["code_text"]
    text = words.format(code="000000", programme=PROGRAMME.head.name, minutes=10)
    assert segments_of(spell_for_sms(text)) == 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_judges_the_meat(language):
    # Common practice: nothing that is seen or not seen makes meat safe.
    assert [s for s in page_words(DIALOG.files)[language].values() if VERDICT.search(s)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_word_that_begins_the_look_is_heard(language):
    spoken = programme(GUIDED)
    word = page_words(DIALOG.files)[language]["glands_word"]
    reading = read(word, scene_for(spoken, DIALOG.words, NOW, ""))
    assert [w.key for w in reading.words if w.kind == "wish"] == ["check"]


@pytest.mark.parametrize("files", [{}, {"chat/en.toml": "["}, {"chat/en.toml": "x = 1"}])
def test_words_that_are_missing_or_broken_are_named(files):
    with pytest.raises(DialogError, match=r"chat/en\.toml"):
        page_words(files)


# ------------------------------------------------------------------------------------ language


@pytest.mark.parametrize(
    ("accepted", "language"),
    [("fr-CA,fr;q=0.9,en;q=0.1", "fr"), ("es", "es"), ("de,ja", "en"), ("", "en")],
)
def test_the_browsers_language_is_the_first_guess(accepted, language):
    page = browser().get("/chat", headers={"Accept-Language": accepted})
    assert language_of(page) == language
    assert page_words(DIALOG.files)[language]["send"] in page.get_data(as_text=True)


def test_the_talks_language_goes_before_the_browsers_and_a_picked_one_before_both():
    talk = Conversation("K7R-4TR", NOW, channel="chat", language="es")
    client = browser(talk)
    assert language_of(client.get("/chat", headers={"Accept-Language": "fr"})) == "es"
    assert language_of(client.get("/chat/number?lang=fr")) == "fr"
    assert language_of(client.get("/chat")) == "fr"
    assert language_of(client.get("/chat?lang=xx")) == "fr"


def test_nobody_is_led_to_a_language_that_the_bot_does_not_speak():
    page = browser(programme=programme(languages=("en",))).get(
        "/chat?lang=fr", headers={"Accept-Language": "es"}
    )
    assert language_of(page) == "en"
    assert "lang=es" not in page.get_data(as_text=True)


def test_accents_stand_in_the_chat():
    page = browser().get("/chat?lang=es").get_data(as_text=True)
    assert "murió" in page


# ------------------------------------------------------------------------------ what is kept


def test_it_can_be_put_on_the_first_screen():
    client = browser()
    told = client.get("/chat/manifest.webmanifest?lang=fr")
    assert told.mimetype == "application/manifest+json"
    manifest = told.get_json()
    assert (manifest["scope"], manifest["start_url"], manifest["lang"]) == ("/chat", "/chat", "fr")
    for icon in manifest["icons"]:
        picture = Image.open(io.BytesIO(client.get(icon["src"]).data))
        assert f"{picture.width}x{picture.height}" == icon["sizes"]
    assert client.get("/chat/icon-4096.png").status_code == 404
    assert 180 in SIZES


def test_the_worker_has_the_chat_and_nothing_else():
    client = browser()
    worker = client.get("/chat/worker.js")
    assert worker.mimetype == "text/javascript"
    assert worker.headers["Service-Worker-Allowed"] == "/chat"
    assert worker.headers["Cache-Control"] == "no-cache"
    body = worker.get_data(as_text=True)
    assert '"pages": ["/chat"]' in body
    for path in re.findall(r'"(/static/[^"]+)"', body):
        assert client.get(path).status_code == 200
    guided = browser(programme=programme(GUIDED)).get("/chat/worker.js").get_data(as_text=True)
    assert '"pages": ["/chat", "/chat/glands"]' in guided


# ---------------------------------------------------------------------------------- drawings


def test_drawings_are_shown_only_where_the_look_is_guided():
    assert browser().get("/chat/glands").status_code == 404
    assert "/chat/glands" not in browser().get("/chat").get_data(as_text=True)
    client = browser(programme=programme(GUIDED))
    assert "/chat/glands" in client.get("/chat").get_data(as_text=True)


@pytest.mark.parametrize("language", LANGUAGES)
def test_drawings_come_after_the_cautions_and_are_told_in_words(language):
    page = browser(programme=programme(GUIDED)).get(f"/chat/glands?lang={language}")
    text = page.get_data(as_text=True).replace("&#39;", "'")
    words = page_words(DIALOG.files)[language]
    for key in ("gloves", "cut", "stop", "leave", "verdict"):
        assert 0 < text.index(words[f"caution_{key}"]) < text.index("<svg")
    assert text.count("<svg") == text.count('role="img"') == text.count("<title id=") == 4
    for key in ("side_told", "below_told", "usual_told", "odd_told"):
        assert words[key] in text


def test_the_drawings_show_the_three_pairs_of_the_look():
    steps = {(s.site, s.side) for s in DIALOG.check_steps if s.side}
    assert len(steps) == 6
    page = browser(programme=programme(GUIDED)).get("/chat/glands").get_data(as_text=True)
    below = page.split('id="below-told"')[1].split("</svg>")[0]
    ellipses = re.findall(r"<ellipse[^>]* cx=\"(\d+)\"", below)
    assert len(ellipses) == 6
    assert sum(int(x) < 150 for x in ellipses) == 3  # Left and right of the middle line.


# -------------------------------------------------------------------------------- the number


def test_without_texts_there_is_no_number_to_prove():
    alone = changed(programme().head, gateways={"chat": GatewayRow("chat")})
    client = browser(programme=replace(programme(), head=alone), gateways={"chat": Chat("chat")})
    assert client.get("/chat/number").status_code == 404
    assert "/chat/number" not in client.get("/chat").get_data(as_text=True)


@pytest.mark.parametrize("path", ["glands", "number", "leave", "worker.js", "token", "news"])
def test_a_programme_without_a_chat_has_none_of_its_pages(path):
    assert browser(gateways={}).get(f"/chat/{path}").status_code == 404


def test_a_toml_of_words_holds_nothing_twice():
    for name in (n for n in DIALOG.files if n.startswith("chat/")):
        sentences = list(tomllib.loads(DIALOG.files[name]).values())
        assert len(sentences) == len(set(sentences)), name
