"""A second factor set up and used in a real browser on a telephone's width: every page of it by
axe-core's WCAG rules, and the picture holds what stands as text below it."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from selenium.webdriver.common.by import By

from bot.service import totp
from bot.service.second_factor import Factors
from tests.browser.doing import css, enter, no_complaints, until
from tests.browser.test_every_page import NARROW, SMALL, THUMBS, UNNAMED
from tests.browser.wcag import ALL, judge
from tests.web.running import NAME, PASSWORD, now


def fill(browser, form, **fields):
    """Fill a form in and send it off."""
    for name, value in fields.items():
        css(browser, f"{form} [name={name}]").send_keys(value)
    css(browser, f"{form} button").click()


def code_of(secret, ahead=0):
    return totp.code_at(secret, totp.step_of(now()) + ahead)


@pytest.fixture
def look(browse, axe):
    browser = browse(NARROW)
    browser.set_script_timeout(60)

    def look(where, waits_for):
        css(browser, waits_for)
        browser.execute_script(
            axe + "; document.querySelectorAll('details').forEach(each => (each.open = true))"
        )
        judge(browser, ALL, where)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= NARROW
        assert browser.execute_script(SMALL, *THUMBS["other"]) == [], where
        assert browser.execute_script(UNNAMED) == [], where

    look.browser = browser
    return look


def test_a_second_factor_is_set_up_and_used(service, look):
    zxing = pytest.importorskip("zxingcpp", reason="zxing-cpp reads QR codes in this test")
    browser = look.browser
    enter(browser, service)
    browser.get(f"{service.url}/desk/own/")
    fill(browser, "form[action$='/second']", password=PASSWORD)
    look("the secret", ".qr")
    picture = Image.open(io.BytesIO(css(browser, ".qr svg").screenshot_as_png))
    (read,) = zxing.read_barcodes(picture)
    secret = Factors(service.opened.intake.database).proposed(NAME)
    assert read.text == totp.otpauth(secret, service.opened.intake.programme.head.name, NAME)
    assert read.text in css(browser, "main").text
    fill(browser, "form[action$='/confirm']", code=code_of(secret))
    look("codes on paper", ".done")
    css(browser, "header form button").click()
    until(browser, lambda b: not b.find_elements(By.CSS_SELECTOR, "header form"))
    browser.get(f"{service.url}/log-in")
    fill(browser, ".slip", name=NAME, password=PASSWORD)
    look("the code is asked for", "#code")
    fill(browser, ".slip", code=code_of(secret, 1))
    until(browser, lambda b: b.current_url.endswith("/desk/"))
    browser.get(f"{service.url}/desk/own/")
    look("one's own, with a second factor", ".two")
    assert no_complaints(browser) == []
