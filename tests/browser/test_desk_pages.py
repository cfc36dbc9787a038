"""The desk in a real browser: every page by axe-core's WCAG rules at two widths, no other host
asked, hostile words harmless, and a day's work by keyboard alone and by a click on the map."""

from __future__ import annotations

from urllib.parse import quote

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from bot.service.accounts import add_account
from bot.service.desk import Desk
from tests.browser.test_whole_jobs import css, text_in, until
from tests.browser.wcag import judge
from tests.web.running import NAME, PASSWORD, now
from tests.web.wires import PROGRAMME

ADMIN = "ada"
ZONE = PROGRAMME.zones[0].name
SPITE = "<img src=x onerror=window.hurt=1><script>window.hurt=1</script>"
RICH = (
    "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday, "
    f"head is at Brindle Hut in the freezer, double bagged, my name is {SPITE}"
)


@pytest.fixture(scope="module")
def finds(service) -> list[str]:
    """Some finds, one of them hostile, one with two readings; and an administrator."""
    database = service.opened.intake.database
    add_account(database, ADMIN, PASSWORD, now(), "administrator")
    texts = (
        ("+61491570006", RICH),
        ("+61491570110", "Boar, lump under the jaw, Sandy Creek, yesterday"),
        ("+61491570158", f"Sow with lumps in the lungs at -36.87 147.15 yesterday {SPITE}"),
        ("+61491570159", "deer with blisters on its mouth near Tallow Saddle"),
    )
    for n, (number, words) in enumerate(texts):
        text_in(service, number, words, f"pages{n}")
    return [row.code for row in Desk(database).finds()]


def enter(browser, service, name=ADMIN):
    browser.get(f"{service.url}/desk/")
    css(browser, "#name").send_keys(name)
    css(browser, "#password").send_keys(PASSWORD)
    css(browser, "button.main-act").click()
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#list"))


def pages(finds: list[str]) -> list[str]:
    days = "first=2026-01-01&last=2030-01-01"
    return [
        *("/desk/", "/desk/enter", "/desk/codes", "/desk/search/?for=boar", f"/desk/map/?{days}"),
        *("/desk/people/", "/desk/people/audit", "/desk/try/"),
        *("/desk/roster/", "/desk/roster/f1", "/desk/roster/f1/round"),
        *(f"/desk/find/{code}" for code in finds),
        f"/desk/season/?{days}",
    ]


SELDOM = {
    360: ("/desk/find/{}/age", "/desk/laboratory", "/desk/evidence/", "/manual/gateways"),
    1280: ("/desk/find/{}/custody", f"/desk/evidence/{quote(ZONE)}", "/desk/evidence/letter", "/"),
}
"""Pages that are looked at in one width only, since every page costs half a second."""


def open_page(browser, service, path):
    browser.get(service.url + path)
    if "/map/" in path:
        until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#map[data-drawn]"))
    for details in browser.find_elements(By.CSS_SELECTOR, "details:not([open]) > summary"):
        browser.execute_script("arguments[0].parentElement.open = true", details)


@pytest.mark.parametrize("width", [360, 1280])
def test_every_page_keeps_wcag_asks_nobody_else_and_fits(service, browse, axe, finds, width):
    browser = browse(width)
    enter(browser, service)
    browser.set_script_timeout(60)
    for path in (*pages(finds), *(path.format(finds[-1]) for path in SELDOM[width])):
        open_page(browser, service, path)
        judge(browser, axe, path)
        asked = browser.execute_script(
            "return performance.getEntriesByType('resource').map(entry => entry.name)"
        )
        assert [name for name in asked if not name.startswith(service.url)] == [], path
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width, path
        assert browser.execute_script("return window.hurt") is None, path
    severe = [e for e in browser.get_log("browser") if e["level"] == "SEVERE"]
    assert severe == []


REFUSED = {"/nowhere": 404, "/job/nobodys": 404, "/desk/people/": 403}


def test_refusals_keep_wcag_too(service, browse, axe, finds):
    browser = browse(360)
    enter(browser, service, NAME)
    browser.set_script_timeout(60)
    for path, status in REFUSED.items():
        browser.get(service.url + path)
        answer = "return performance.getEntriesByType('navigation')[0].responseStatus"
        assert browser.execute_script(answer) == status
        judge(browser, axe, path)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= 360, path


def press(browser, *keys):
    for key in keys:
        ActionChains(browser).send_keys(key).perform()


def test_a_morning_by_keyboard_alone(service, browse, finds):
    browser = browse(1280)
    enter(browser, service)
    count = len(browser.find_elements(By.CSS_SELECTOR, ".entry"))
    assert count >= 2
    press(browser, "n", "n", "b", "m")
    until(browser, lambda b: f"{ADMIN} has it" in css(b, ".entry").text)
    press(browser, "n")
    code = browser.switch_to.active_element.find_element(By.CSS_SELECTOR, ".code").text
    press(browser, Keys.ENTER)
    until(browser, lambda b: css(b, "#title .code").text == code)
    press(browser, "t")
    until(browser, lambda b: "A person has the talk" in css(b, ".state").text)
    press(browser, "w")
    assert browser.switch_to.active_element.get_attribute("id") == "body"
    press(browser, "nbm: I will ring you")
    assert css(browser, "#body").get_property("value") == "nbm: I will ring you"
    assert "20 characters, 1 segment" in css(browser, "#cost").text
    press(browser, Keys.TAB, Keys.ENTER)
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, ".log li.person"))
    press(browser, "l")
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#list"))
    css(browser, "#keys-switch").click()
    css(browser, "h1").click()
    press(browser, "n")
    assert browser.switch_to.active_element.tag_name != "a"


def test_a_place_is_put_on_the_map_and_the_pickup_given_out(service, browse, finds):
    database = service.opened.intake.database
    code = next(c for c in finds if Desk(database).find_card(c).pickup)
    before = Desk(database).find_card(code).conversation.answers["kill_place"].value
    browser = browse(1280)
    enter(browser, service)
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
    enter(browser, service)
    browser.get(f"{service.url}/desk/")
    press(browser, "n")
    held = browser.switch_to.active_element.get_attribute("href")
    text_in(service, "+61491570157", "Old hind, blood at the nose, near Brindle Hut", "renewed")
    count = len(browser.find_elements(By.CSS_SELECTOR, ".entry"))
    browser.execute_script("document.dispatchEvent(new Event('visibilitychange'))")
    until(browser, lambda b: len(b.find_elements(By.CSS_SELECTOR, ".entry")) > count, 30)
    assert browser.switch_to.active_element.get_attribute("href") == held
