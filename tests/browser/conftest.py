"""A real service on a file of its own, a real server, and Debian's chromium before it."""

from __future__ import annotations

import shutil
import tempfile
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.commands.deliver import keep_working
from bot.commands.opening import Opened
from bot.gateways.protocol import Row
from bot.gateways.registry import open_gateways
from bot.service.accounts import add_account
from bot.service.database import open_database
from bot.service.roster import import_roster
from bot.service.wiring import open_intake
from bot.web.app import create_app
from bot.web.serving import Server, wiring_of
from bot.web.wiring import Settings
from tests.gateways.asking import ENV
from tests.web.wires import DIALOG, PROGRAMME

CHROMIUM, DRIVER = "/usr/bin/chromium", "/usr/bin/chromedriver"
ARGUMENTS = (
    *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    "--no-first-run",
)
NAME, PASSWORD = "ines", "brindle hut at dusk"


@dataclass(frozen=True)
class Service:
    """A running service: where it answers, and what it is made of."""

    url: str
    opened: Opened


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    file = tmp_path_factory.mktemp("service") / "bushpost.sqlite3"
    database = open_database(f"sqlite:///{file}")
    import_roster(database, PROGRAMME.roster)
    add_account(database, NAME, PASSWORD, now())
    rows = {"paddock": Row("paper", ("NEW_KEY",)), "chat": Row("chat")}
    opened = Opened(open_intake(database, DIALOG, PROGRAMME), open_gateways(rows, ENV), DIALOG)
    settings = Settings("a key for browser tests alone " * 2, secure_cookies=False)
    app = create_app(wiring_of(opened.intake, opened.gateways, DIALOG, settings, now))
    server, stop = Server(app, "127.0.0.1", 0), threading.Event()
    server.start()
    worker = threading.Thread(target=keep_working, args=(opened, now, stop), daemon=True)
    worker.start()
    yield Service(server.url, opened)
    stop.set()
    worker.join(timeout=10)
    server.close()
    database.close()


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
    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    return browser, folder


@pytest.fixture
def browse():
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
