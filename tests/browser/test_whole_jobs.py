"""Whole jobs at the desk in a real browser, with and without JavaScript."""

from __future__ import annotations

import pytest
from selenium.webdriver.common.by import By

from tests.browser.doing import css, enter, no_complaints, press, text_in, until
from tests.web.running import NAME


@pytest.mark.parametrize(
    ("script", "width"), [(True, 1280), (False, 360)], ids=["with JavaScript", "without, narrow"]
)
def test_a_coordinator_works_one_find_to_its_end(service, browse, script, width):
    number = "+61491571804" if script else "+61491571491"
    text_in(service, number, "Sow with lumps in the lungs at -36.87 147.15 yesterday", f"w{script}")
    browser = browse(width, script)
    enter(browser, service)
    row = css(browser, "a.row")
    assert "Sign in the body" in row.text
    code = css(browser, "a.row .code").text
    row.click()
    until(browser, lambda b: css(b, "#title .code").text == code)
    assert "lungs" in css(browser, "#a-seen").text

    css(browser, "#a-when summary").click()
    css(browser, "#w-when").send_keys("two days ago")
    css(browser, "#a-when button").click()
    until(browser, lambda b: f"set by {NAME}" in css(b, "#a-when").text)

    press(browser, "Take over")
    until(browser, lambda b: "A person has the talk" in css(b, ".state").text)
    css(browser, "#body").send_keys("Hello, Ines here. I will ring you at five.")
    if script:
        until(browser, lambda b: "1 segment" in css(b, "#cost").text)
    css(browser, ".acts .pen button").click()
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, ".log li.person"))
    assert "I will ring you at five" in css(browser, ".log li.person").text

    press(browser, "Hand back to the bot")
    until(browser, lambda b: "A person has the talk" not in css(b, ".state").text)

    browser.find_element(By.XPATH, "//summary[.='Close this find']").click()
    css(browser, "input[value=finished]").click()
    css(browser, "#note").send_keys("rang, all clear what to do")
    press(browser, "Close it")
    until(browser, lambda b: "Closed" in css(b, ".state").text)
    browser.get(f"{service.url}/desk/")
    assert code not in css(browser, "#list").text
    notes = service.opened.gateways["paddock"].sent
    assert [n for n in notes if n.body.startswith("Hello, Ines") and n.address.number == number]
    assert no_complaints(browser) == []


def test_the_second_of_two_coordinators_is_told(service, browse):
    text_in(service, "+61491570737", "deer with blisters on its mouth, near Brindle Hut", "two")
    browser = browse(1280)
    enter(browser, service)
    css(browser, "a.row").click()
    css(browser, "#title")
    card = browser.current_url
    text_in(service, "+61491570737", "there are three more of them", "two-b")
    css(browser, "#body").send_keys("Please keep the dogs away.")
    css(browser, ".acts .pen button").click()
    until(browser, lambda b: css(b, "h1").text == "This find has moved on")
    assert css(browser, "blockquote").text == "Please keep the dogs away."
    css(browser, "main a.main-act").click()
    until(browser, lambda b: b.current_url == card)
    assert "three more" in css(browser, ".log").text
    assert "Please keep" not in css(browser, ".log").text
