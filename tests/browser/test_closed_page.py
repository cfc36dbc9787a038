"""What was written without signal goes out after the page was closed: by the worker alone where the
browser wakes it, else when the page is opened again. Once each, in the order of writing."""

from __future__ import annotations

import pytest

from bot.web.serving import Server
from tests.browser.doing import css, until
from tests.browser.test_hunters_chat import cut_off, stored, waiting, write

WATCH = "return navigator.serviceWorker.controller !== null"
WROTE = ["It lay by the creek", "ring 0491 570 157"]


@pytest.fixture
def server(service):
    """A server of its own, which `cut_off` takes away and puts back."""
    server = Server(service.app, "127.0.0.1", 0)
    server.start()
    return server


def write_and_leave(browser, server, service, then):
    """Texts without signal, each from a page of its own that is closed behind it; `then`
    happens once there is signal again."""
    browser.get(f"{server.url}/chat?lang=en")
    until(browser, lambda b: b.execute_script(WATCH))
    before = len(stored(service))
    with cut_off(browser, server, service.app):
        for count, words in enumerate(WROTE, 1):
            browser.get(f"{server.url}/chat")
            write(browser, words)
            until(browser, lambda b, n=count: len(waiting(b)) == n)
        browser.get("about:blank")
        assert len(stored(service)) == before
    then()
    until(browser, lambda b: len(stored(service)) >= before + len(WROTE))
    assert [body for body, _, _ in stored(service)[before:]] == WROTE


def test_the_page_that_is_opened_again_sends_what_was_left(service, browse, server):
    browser = browse(360)
    write_and_leave(browser, server, service, lambda: browser.get(f"{server.url}/chat"))
    until(browser, lambda b: waiting(b) == [])
    assert not css(browser, "#waiting").is_displayed()


def test_the_worker_sends_it_with_no_page_open(service, browse, server):
    """The browser's own call for a sync, as the Background Synchronization draft has it, made by
    the debugging protocol; a new browser's first registration has the number 0."""
    browser = browse(360)

    def wake():
        browser.execute_cdp_cmd("ServiceWorker.enable", {})
        call = {"origin": server.url, "registrationId": "0", "tag": "send", "lastChance": True}
        browser.execute_cdp_cmd("ServiceWorker.dispatchSyncEvent", call)

    write_and_leave(browser, server, service, wake)
    assert browser.current_url == "about:blank"
    browser.get(f"{server.url}/chat")
    assert waiting(browser) == []
