"""A real service on a file of its own, a real server, and Debian's chromium before it."""

from __future__ import annotations

import importlib.util
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.web.running import Service, running_service

CHROMIUM, DRIVER = "/usr/bin/chromium", "/usr/bin/chromedriver"
ARGUMENTS = (
    *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    "--no-first-run",
)


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    with running_service(tmp_path_factory.mktemp("service")) as service:
        yield service


def open_browser(width: int, script: bool = True):
    """A browser of a width, with or without JavaScript, and its folder."""
    webdriver = pytest.importorskip("selenium.webdriver")
    from selenium.webdriver.chrome.service import Service as DriverService

    folder = tempfile.mkdtemp(prefix="bushpost-chromium-")
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in (*ARGUMENTS, f"--user-data-dir={folder}", f"--window-size={width},900"):
        options.add_argument(argument)
    if not script:
        options.add_experimental_option(
            "prefs", {"profile.managed_default_content_settings.javascript": 2}
        )
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    browser = webdriver.Chrome(options=options, service=DriverService(DRIVER))
    set_width(browser, width)
    return browser, folder


def set_width(browser, width: int) -> None:
    """The page as a screen of that width has it, a telephone's below 600."""
    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)


@contextmanager
def browsers():
    """Opens browsers, and closes every one of them."""
    if not (Path(CHROMIUM).exists() and Path(DRIVER).exists()):
        pytest.skip("Debian's chromium and chromium-driver are not installed")
    opened = []

    def browse(width: int = 1280, script: bool = True):
        opened.append(open_browser(width, script))
        return opened[-1][0]

    yield browse
    for browser, folder in opened:
        browser.quit()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def browse():
    """Opens browsers for one test."""
    with browsers() as browse:
        yield browse


@pytest.fixture(scope="module")
def browse_long():
    """Opens browsers that serve all tests of a file."""
    with browsers() as browse:
        yield browse


@pytest.fixture(scope="module")
def axe() -> str:
    """axe-core's own file, out of a package that carries it."""
    found = importlib.util.find_spec("axe_playwright_python")
    if found is None or found.origin is None:
        pytest.skip("axe-playwright-python, which carries axe-core, is not installed")
    (script,) = Path(found.origin).parent.rglob("axe.min.js")
    return script.read_text(encoding="utf-8")
