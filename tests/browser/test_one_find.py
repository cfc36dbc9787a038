"""One find from the bush to the laboratory, by everybody's own page: a hunter without signal, the
coordinator's card, the staff's link; at the end the list is empty again."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from bot.service.desk import Desk
from bot.service.links import Links
from bot.web.serving import Server
from tests.browser.doing import css, enter, keys, no_complaints, press, text_in, until
from tests.browser.test_hunters_chat import WATCH, cut_off, lines, stored, waiting, write
from tests.web.running import NAME, Service, now, running_service

REPORT = "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday"
REST = "Head is at Brindle Hut in the freezer, 2 bags. Can a person ring me on 0491 570 157 please"
NELL = "+61491570156"
LINKS = Links("a secret for tests only, and long enough", "https://post.example")


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    with running_service(tmp_path_factory.mktemp("one"), links=LINKS) as service:
        yield service


def report_without_signal(browser, service) -> str:
    """Two texts written without signal; the find's code, once they have arrived."""
    server = Server(service.app, "127.0.0.1", 0)
    server.start()
    browser.get(f"{server.url}/chat?lang=en")
    until(browser, lambda b: b.execute_script(WATCH))
    before = len(stored(service))
    with cut_off(browser, server, service.app):
        for count, words in enumerate((REPORT, REST), 1):
            browser.get(f"{server.url}/chat")
            write(browser, words)
            until(browser, lambda b, n=count: len(waiting(b)) == n)
    browser.get(f"{server.url}/chat")
    until(browser, lambda b: len(stored(service)) == before + 2)
    until(browser, lambda b: any("Stop cutting" in line for line in lines(b, "us")))
    assert [body for body, _, _ in stored(service)[before:]] == [REPORT, REST]
    [code] = [row.code for row in desk(service).review_list(now())]
    return code


def desk(service) -> Desk:
    return Desk(service.opened.intake.database)


def put_on_the_map(browser, code):
    """The place where it died, by the keyboard: the map's middle, moved and taken."""
    css(browser, "#open-map").click()
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#place-map[data-drawn]"))
    keys(browser, Keys.ARROW_RIGHT)
    keys(browser, Keys.ENTER)
    until(browser, lambda b: "good to" in css(b, "#place-words").text)
    css(browser, "#place-set").click()
    until(browser, lambda b: f"set by {NAME}" in css(b, "#a-kill_place").text)


def give_to_nell(browser, service, code):
    css(browser, "summary[data-key=g]").click()
    css(browser, ".fetchers input[value=f1]").click()
    press(browser, "Give it out")
    until(browser, lambda b: desk(service).find_card(code).pickup.staff_id == "f1")


def write_and_hand_back(browser):
    press(browser, "Take over")
    until(browser, lambda b: "A person has the talk" in css(b, ".state").text)
    css(browser, "#body").send_keys("Ines here. Nell comes for it today.")
    css(browser, ".acts .pen button").click()
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, ".log li.person"))
    press(browser, "Hand back to the bot")
    until(browser, lambda b: "A person has the talk" not in css(b, ".state").text)


@pytest.mark.parametrize("width", [360, 1280])
def test_from_the_bush_to_the_laboratory(service, browse, width):
    browser = browse(width)
    code = report_without_signal(browser, service)
    no_complaints(browser)  # Without signal it complains, and rightly; from here on it must not.
    enter(browser, service)
    css(browser, "a.row").click()
    until(browser, lambda b: css(b, "#title .code").text == code)
    put_on_the_map(browser, code)
    give_to_nell(browser, service, code)
    write_and_hand_back(browser)

    token = LINKS.job(code, "f1", now()).rpartition("/")[2]
    browser.get(f"{service.url}/job/{token}")
    press(browser, "I have it")
    until(browser, lambda b: desk(service).find_card(code).pickup.state == "collected")
    text_in(service, NELL, f"HANDED IN {code}", f"handed{width}")
    assert desk(service).find_card(code).pickup.state == "handed_in"

    browser.get(f"{service.url}/desk/find/{code}")
    talk = css(browser, ".log").text
    for told in ("Nell Abbery", "Ines here. Nell comes for it today."):
        assert told in talk
    browser.get(f"{service.url}/desk/")
    until(browser, lambda b: "Nothing needs a person now." in css(b, "#list").text)
    assert no_complaints(browser) == []
