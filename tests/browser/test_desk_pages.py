"""The desk in a real browser: a day's work by keyboard alone, a click on the map, and a list that
renews itself."""

from __future__ import annotations

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from bot.service.accounts import add_account
from bot.service.desk import Desk
from tests.browser.doing import css, enter, keys, text_in, until
from tests.browser.furnished import ADMIN, TEXTS
from tests.web.running import PASSWORD, now


@pytest.fixture(scope="module")
def finds(service) -> list[str]:
    """Some finds, one of them hostile, one with two readings; and an administrator."""
    database = service.opened.intake.database
    add_account(database, ADMIN, PASSWORD, now(), "administrator")
    for n, (number, words) in enumerate(TEXTS):
        text_in(service, number, words, f"pages{n}")
    return [row.code for row in Desk(database).finds()]


def test_a_morning_by_keyboard_alone(service, browse, finds):
    browser = browse(1280)
    enter(browser, service, ADMIN)
    count = len(browser.find_elements(By.CSS_SELECTOR, ".entry"))
    assert count >= 2
    keys(browser, "n", "n", "b", "m")
    until(browser, lambda b: f"{ADMIN} has it" in css(b, ".entry").text)
    keys(browser, "n")
    code = browser.switch_to.active_element.find_element(By.CSS_SELECTOR, ".code").text
    keys(browser, Keys.ENTER)
    until(browser, lambda b: css(b, "#title .code").text == code)
    keys(browser, "t")
    until(browser, lambda b: "A person has the talk" in css(b, ".state").text)
    keys(browser, "w")
    assert browser.switch_to.active_element.get_attribute("id") == "body"
    keys(browser, "nbm: I will ring you")
    assert css(browser, "#body").get_property("value") == "nbm: I will ring you"
    assert "20 characters, 1 segment" in css(browser, "#cost").text
    keys(browser, Keys.TAB, Keys.ENTER)
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, ".log li.person"))
    keys(browser, "l")
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#list"))
    css(browser, "#keys-switch").click()
    css(browser, "h1").click()
    keys(browser, "n")
    assert browser.switch_to.active_element.tag_name != "a"


def test_a_place_is_put_on_the_map_and_the_pickup_given_out(service, browse, finds):
    database = service.opened.intake.database
    code = next(c for c in finds if Desk(database).find_card(c).pickup)
    before = Desk(database).find_card(code).conversation.answers["kill_place"].value
    browser = browse(1280)
    enter(browser, service, ADMIN)
    browser.get(f"{service.url}/desk/find/{code}")
    css(browser, "#open-map").click()
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#place-map[data-drawn]"))
    box = css(browser, "#place-map")
    ActionChains(browser).move_to_element_with_offset(box, 30, 20).click().perform()
    until(browser, lambda b: "good to" in css(b, "#place-words").text)
    css(browser, "#place-set").click()
    until(browser, lambda b: f"set by {ADMIN}" in css(b, "#a-kill_place").text)
    place = Desk(database).find_card(code).conversation.answers["kill_place"].value
    assert (place.lat, place.lon) != (before.lat, before.lon)
    assert abs(place.lat - before.lat) < 0.5
    browser.execute_script("document.querySelector('.fetchers').closest('details').open = true")
    css(browser, ".fetchers input:not([disabled])").click()
    browser.find_element(By.XPATH, "//button[.='Give it out']").click()
    until(browser, lambda b: Desk(database).find_card(code).pickup.state == "taken")


def test_the_list_renews_itself_and_keeps_the_keyboard_where_it_was(service, browse, finds):
    browser = browse(1280)
    enter(browser, service, ADMIN)
    browser.get(f"{service.url}/desk/")
    keys(browser, "n")
    held = browser.switch_to.active_element.get_attribute("href")
    text_in(service, "+61491570157", "Old hind, blood at the nose, near Brindle Hut", "renewed")
    count = len(browser.find_elements(By.CSS_SELECTOR, ".entry"))
    browser.execute_script("document.dispatchEvent(new Event('visibilitychange'))")
    until(browser, lambda b: len(b.find_elements(By.CSS_SELECTOR, ".entry")) > count, 30)
    assert browser.switch_to.active_element.get_attribute("href") == held
