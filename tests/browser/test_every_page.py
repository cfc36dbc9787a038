"""Every page of the service in a real browser at two widths: WCAG 2.2 AA by axe-core, nothing wider
than its window or too small for a thumb, every field named, nobody else asked, no words run.

One service and one browser serve them all, since starting either costs more than looking.
"""

from __future__ import annotations

from collections.abc import Iterator

import httpx
import pytest
from selenium.webdriver.common.by import By

from tests.browser.conftest import set_width
from tests.browser.doing import css, enter, no_complaints, until
from tests.browser.furnished import (
    ADMIN,
    NO_PAGES,
    PAGES,
    REFUSALS,
    Furnished,
    furnished_service,
)
from tests.browser.wcag import ALL, LAYOUT, judge
from tests.web.running import NAME

NARROW, WIDE = 360, 1280
SMALL = (
    "return [...document.querySelectorAll(arguments[0])].filter(e => e.checkVisibility()"
    " && e.type !== 'radio' && e.type !== 'checkbox'"
    " && e.getBoundingClientRect().height < arguments[1]).map(e => e.outerHTML.slice(0, 90))"
)
THUMBS = {
    "chat": ("main button, main input:not([type=hidden]), main a:not(.tel), textarea", 55.5),
    "other": ("button, input:not([type=hidden]), select, summary, .row, nav a", 43.5),
}
"""What is pressed, and how many pixels high it is at least: on a hunter's page for wet gloves,
elsewhere for a bare thumb. WCAG 2.2 asks for 24 (AA) and 44 (AAA)."""
UNNAMED = (
    "return [...document.querySelectorAll('input:not([type=hidden]), textarea, select')]"
    ".filter(e => !e.labels.length).map(e => e.name)"
)
OTHERS = (
    "return performance.getEntriesByType('resource').map(entry => entry.name)"
    ".filter(name => !name.startsWith(location.origin))"
)
STATUS = "return performance.getEntriesByType('navigation')[0].responseStatus"


@pytest.fixture(scope="module")
def furnished(tmp_path_factory) -> Iterator[Furnished]:
    with furnished_service(tmp_path_factory.mktemp("furnished")) as furnished:
        yield furnished


@pytest.fixture(scope="module")
def browser(browse_long, furnished):
    """One browser for all pages, with an administrator before it."""
    browser = browse_long(NARROW)
    browser.set_script_timeout(60)
    enter(browser, furnished.service, ADMIN)
    return browser


def look(browser, axe, url, path):
    """Open a page once and hold it to everything at both widths."""
    browser.get(url + path)
    if "/desk/map/" in path:
        until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#map[data-drawn]"))
    browser.execute_script(
        "document.querySelectorAll('details').forEach(each => (each.open = true))"
    )
    browser.execute_script(axe)
    for width, rules in ((NARROW, ALL), (WIDE, LAYOUT)):
        set_width(browser, width)
        judge(browser, rules, (path, width))
        wide = browser.execute_script("return document.documentElement.scrollWidth")
        assert wide <= width, (path, width)
        asked = THUMBS["chat" if path.startswith("/chat") else "other"]
        assert browser.execute_script(SMALL, *asked) == [], (path, width)
    set_width(browser, NARROW)
    assert browser.execute_script(UNNAMED) == [], path
    assert browser.execute_script(OTHERS) == [], path
    assert browser.execute_script("return window.hurt") is None, path


def test_no_page_is_forgotten(furnished):
    rules = furnished.service.app.url_map.iter_rules()
    answering = {rule.endpoint for rule in rules if "GET" in rule.methods}
    assert answering == set(PAGES) | set(NO_PAGES)
    assert not set(PAGES) & set(NO_PAGES)


def test_what_is_called_no_page_is_none(furnished):
    whole = [r for r in furnished.service.app.url_map.iter_rules() if not r.arguments]
    with httpx.Client(base_url=furnished.service.url) as passer_by:
        for rule in whole:
            if rule.endpoint in NO_PAGES:
                answer = passer_by.get(rule.rule)
                # Whoever is not logged in is led to the log-in, whatever he asks for.
                led_on = answer.status_code in {302, 404}
                assert led_on or "<html" not in answer.text, rule


@pytest.mark.parametrize("endpoint", PAGES)
def test_a_page_keeps_to_all_of_it(endpoint, browser, axe, furnished):
    for path in furnished.paths(endpoint):
        look(browser, axe, furnished.service.url, path)
        assert browser.execute_script(STATUS) == 200, path
    assert no_complaints(browser) == []


def test_a_code_that_was_asked_for_has_a_page(browser, axe, furnished):
    browser.get(f"{furnished.service.url}/chat/number?lang=en")
    css(browser, "#number").send_keys("0491 570 110")
    css(browser, "button.main-act").click()
    css(browser, "#code")
    browser.execute_script(axe)
    judge(browser, ALL, "a code was asked for")
    assert browser.execute_script(SMALL, *THUMBS["chat"]) == []


@pytest.mark.parametrize(("path", "status"), REFUSALS)
def test_a_refusal_keeps_to_it_too(path, status, browser, axe, furnished):
    look(browser, axe, furnished.service.url, path.format(**furnished.names))
    assert browser.execute_script(STATUS) == status


def test_whoever_may_not_and_whoever_asks_too_often_get_a_page_like_others(browser, axe, furnished):
    """The last of this file: it shuts the address out."""
    service = furnished.service
    browser.delete_all_cookies()
    enter(browser, service, NAME)
    look(browser, axe, service.url, "/desk/people/")
    assert browser.execute_script(STATUS) == 403
    with httpx.Client(base_url=service.url) as guesser:
        while guesser.get("/job/nobodys").status_code != 429:
            pass
    look(browser, axe, service.url, "/round/nobodys")
    assert browser.execute_script(STATUS) == 429
