"""What people do before a browser: wait, look for something, log in, press."""

from __future__ import annotations

from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from tests.web.running import NAME, PASSWORD


def until(browser, true, seconds=20):
    """Wait for something; an element that a new page has swept away is looked for again."""
    gone = (StaleElementReferenceException,)
    return WebDriverWait(browser, seconds, 0.1, ignored_exceptions=gone).until(true)


def css(browser, selector):
    """The first such element, as soon as there is one."""
    return until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, selector))[0]


def press(browser, words):
    """Press the button with these words."""
    button = f"//button[normalize-space()='{words}']"
    until(browser, lambda b: b.find_elements(By.XPATH, button))[0].click()


def keys(browser, *pressed):
    """Press keys, one after the other, wherever the focus is."""
    for key in pressed:
        ActionChains(browser).send_keys(key).perform()


def text_in(service, number, words, id):
    """One signed text through the real webhook."""
    answer = service.text_in(number, words, id)
    assert (answer.status_code, answer.content) == (200, b"")


def enter(browser, service, name=NAME):
    """Log in to the desk."""
    browser.get(f"{service.url}/desk/")
    css(browser, "#name").send_keys(name)
    css(browser, "#password").send_keys(PASSWORD)
    css(browser, "button.main-act").click()
    until(browser, lambda b: b.find_elements(By.CSS_SELECTOR, "#list"))


def no_complaints(browser):
    """What the browser's console holds: a breach of our own policy would stand here."""
    return [entry["message"] for entry in browser.get_log("browser")]
