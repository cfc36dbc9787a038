"""The hunter's pages in a real browser: a report without signal, by a press, with a photo, in the
browser and by text; nothing of anybody's words ever runs; small, and shut in."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from PIL import Image
from selenium.webdriver.common.by import By
from sqlalchemy import select
from waitress import wasyncore

from bot.service import tables
from bot.web.serving import Server
from tests.browser.doing import css, no_complaints, text_in, until
from tests.browser.furnished import SPITE, spoken_programme
from tests.web.running import Service, running_service

RICH = "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday"
TWO_PLACES = "Boar, lump under the jaw with pus, Sandy Creek, yesterday"
WATCH = "return navigator.serviceWorker.controller !== null"
BUDGET = 60_000
"""Bytes of the first load: what a telephone with one bar of signal can be asked for."""


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    with running_service(tmp_path_factory.mktemp("chat"), spoken_programme()) as service:
        yield service


def lines(browser, who):
    found = browser.find_elements(By.CSS_SELECTOR, f"#log li.{who} > p")
    return [" ".join(line.text.split("\n")) for line in found]


def waiting(browser):
    found = browser.find_elements(By.CSS_SELECTOR, "#kept li > p")
    return [" ".join(line.text.split("\n")) for line in found]


def write(browser, words):
    css(browser, "#text").send_keys(words)
    css(browser, "#send").click()
    until(browser, lambda b: css(b, "#text").get_property("value") == "")


def stored(service) -> list[tuple[str, object, object]]:
    text = tables.TextIn
    with service.opened.intake.database.read() as connection:
        rows = connection.execute(
            select(text.body, text.sent_at, text.arrived_at).order_by(text.id)
        )
        return [tuple(row) for row in rows]


@contextmanager
def cut_off(browser, server: Server, app):
    """No signal: the browser is told so, and nothing answers at the other end either. Afterwards
    another server stands there."""
    browser.execute_cdp_cmd("Network.enable", {})
    gone = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", gone)
    server.close()
    wasyncore.close_all(server._server._map, ignore_all=True)
    yield
    again = Server(app, "127.0.0.1", server.port)
    again.start()
    back = {**gone, "offline": False, "downloadThroughput": -1, "uploadThroughput": -1}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", back)


def test_without_signal_all_is_kept_and_arrives_once_in_order(service, browse):
    server = Server(service.app, "127.0.0.1", 0)
    server.start()
    browser = browse(360)
    browser.get(f"{server.url}/chat")
    until(browser, lambda b: b.execute_script(WATCH))
    write(browser, TWO_PLACES)
    until(browser, lambda b: len(b.find_elements(By.CSS_SELECTOR, "#buttons button")) == 3)
    before = len(stored(service))
    with cut_off(browser, server, service.app):
        browser.get(f"{server.url}/chat")  # The page opens all the same, and all stands on it.
        until(browser, lambda b: len(b.find_elements(By.CSS_SELECTOR, "#buttons button")) == 3)
        css(browser, "#buttons button").click()
        until(browser, lambda b: len(waiting(b)) == 1)
        write(browser, "It was a big one")
        browser.get(f"{server.url}/chat")
        until(browser, lambda b: len(waiting(b)) == 2)
        assert len(lines(browser, "us")) >= 1
        assert not css(browser, "#offers").is_displayed()
        write(browser, "ring 0491 570 157")
        until(browser, lambda b: "No signal" in css(b, "#signal").text)
        assert waiting(browser) == [
            "1 waits for signal",
            "It was a big one waits for signal",
            "ring 0491 570 157 waits for signal",
        ]
        assert len(stored(service)) == before
    until(browser, lambda b: "has been sent" in css(b, "#signal").text)
    until(browser, lambda b: len(lines(b, "you")) == 4)
    assert waiting(browser) == []
    bodies = [body for body, _, _ in stored(service)[before:]]
    assert bodies == ["1", "It was a big one", "ring 0491 570 157"]
    written = [sent for _, sent, _ in stored(service)[before:]]
    assert written == sorted(written)
    assert all(sent < arrived for _, sent, arrived in stored(service)[before:])


def test_a_text_whose_answer_is_lost_is_sent_again_and_is_one(service, browse):
    browser = browse(360)
    browser.get(f"{service.url}/chat")
    answering, lost = service.app.wsgi_app, []

    def losing(environ, start_response):
        """The text arrives; the answer does not."""
        body = b"".join(answering(environ, start_response))
        if environ["REQUEST_METHOD"] == "POST" and not lost:
            lost.append(body)
            raise ConnectionResetError
        return [body]

    service.app.wsgi_app = losing
    try:
        write(browser, "lost on the way, a boar")
        until(browser, lambda b: "lost on the way, a boar" in lines(b, "you"))
        until(browser, lambda b: waiting(b) == [])
    finally:
        service.app.wsgi_app = answering
    assert lost
    assert [body for body, _, _ in stored(service)].count("lost on the way, a boar") == 1


def test_the_first_load_is_small_and_asks_nobody_else(service, browse):
    answering, served = service.app.wsgi_app, {}

    def weighing(environ, start_response):
        body = b"".join(answering(environ, start_response))
        path = environ["PATH_INFO"]
        served[path] = served.get(path, 0) + len(body)
        return [body]

    service.app.wsgi_app = weighing
    try:
        browser = browse(360)
        browser.get(f"{service.url}/chat")
        until(browser, lambda b: b.execute_script(WATCH))
        css(browser, "#send")
    finally:
        service.app.wsgi_app = answering
    # All of it: the page, what it looks like, its script, and what the worker puts by.
    assert "/chat/worker.js" in served
    assert sum(served.values()) < BUDGET, served
    asked = browser.execute_script(
        "return performance.getEntriesByType('resource').map(entry => entry.name)"
    )
    assert len(asked) >= 4
    assert [name for name in asked if not name.startswith(service.url)] == []
    assert browser.execute_cdp_cmd("Page.getInstallabilityErrors", {})["installabilityErrors"] == []
    assert no_complaints(browser) == []


def test_a_position_and_a_photo_go_along(service, browse, tmp_path):
    browser = browse(360)
    allowed = {"origin": service.url, "permissions": ["geolocation"]}
    browser.execute_cdp_cmd("Browser.grantPermissions", allowed)
    spot = {"latitude": -36.852, "longitude": 147.15, "accuracy": 12}
    browser.execute_cdp_cmd("Emulation.setGeolocationOverride", spot)
    exif = Image.Exif()
    exif[0x0112] = 6  # Exif 2.3: to be turned by 90 degrees clockwise.
    exif.get_ifd(0x8825).update({1: "S", 2: (36.0, 48.0, 0.0), 3: "E", 4: (147.0, 9.0, 36.0)})
    file = tmp_path / f"{SPITE.replace('/', '')}.jpg"
    Image.new("RGB", (3000, 2000), "brown").save(file, "JPEG", exif=exif)
    browser.get(f"{service.url}/chat")
    until(browser, lambda b: css(b, "#here").is_displayed())
    css(browser, "#here").click()
    until(browser, lambda b: "-36.85200, 147.15000, good to 12 m" in css(b, "#where").text)
    css(browser, "#photo").send_keys(str(file))
    until(browser, lambda b: "goes along, made smaller" in css(b, "#picture").text)
    css(browser, "#send").click()
    until(browser, lambda b: "with a photo with a position" in " ".join(lines(b, "you")))
    assert css(browser, "#where").text == ""
    until(browser, lambda b: not css(b, "#here").is_displayed())  # The place is known now.
    assert browser.execute_script("return window.hurt") is None
    photo = tables.Photo
    with service.opened.intake.database.read() as connection:
        row = connection.execute(
            select(photo.data, photo.pin).order_by(photo.kept_at.desc())
        ).first()
    kept = Image.open(io.BytesIO(row.data))
    assert (kept.size, dict(kept.getexif())) == ((1067, 1600), {})
    assert json.loads(row.pin)["lat"] == pytest.approx(-36.8)


def test_words_of_others_never_run(service, browse):
    browser = browse(360)
    browser.get(f"{service.url}/chat")
    browser.execute_script("window.stillHere = true")
    write(browser, f"{TWO_PLACES}, my name is {SPITE}")
    until(browser, lambda b: len(b.find_elements(By.CSS_SELECTOR, "#buttons button")) == 3)
    assert "<script>" in css(browser, "#buttons").text
    assert "<script>" in lines(browser, "you")[0]
    assert browser.execute_script("return window.stillHere") is True
    browser.refresh()
    until(browser, lambda b: "<script>" in css(b, "#buttons").text)
    assert browser.execute_script("return window.hurt") is None
    assert browser.find_elements(By.CSS_SELECTOR, "main img, main script") == []
    assert no_complaints(browser) == []


def code_for(service, number) -> str:
    """The code in the latest text to a number."""
    out = tables.TextOut
    with service.opened.intake.database.read() as connection:
        query = select(out.body).where(out.number == number).order_by(out.id.desc())
        return re.search(r"\b\d{6}\b", connection.scalars(query).first()).group()


def test_without_javascript_a_text_is_gone_on_with_by_a_press_and_a_code(service, browse):
    number = "+61491570159"
    text_in(service, number, "Sow with lumps in the lungs", "by-text")
    browser = browse(360, script=False)
    browser.get(f"{service.url}/chat")
    assert not css(browser, "#here").is_displayed()
    css(browser, "#text").send_keys(TWO_PLACES)
    css(browser, "#send").click()
    until(browser, lambda b: lines(b, "you") == [TWO_PLACES])
    css(browser, "#buttons button").click()
    until(browser, lambda b: lines(b, "you") == [TWO_PLACES, "1"])
    browser.get(f"{service.url}/chat/number")
    css(browser, "#number").send_keys("0491 570 159")
    css(browser, "button.main-act").click()
    css(browser, "#code").send_keys(code_for(service, number))
    css(browser, "button.main-act").click()
    until(browser, lambda b: "one talk now" in css(b, ".done").text)
    css(browser, ".on").click()
    until(browser, lambda b: len(lines(b, "you")) == 3)
    assert lines(browser, "you")[0] == "Sow with lumps in the lungs"
