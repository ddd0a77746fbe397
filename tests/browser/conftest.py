"""One server and one browser for all browser tests, a fresh page for each."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from lab import Lab, LabServer
from playwright.sync_api import Browser, BrowserContext, sync_playwright

WORKBOOKS = Path(__file__).resolve().parents[2] / "workbooks"
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")

FLAGS = [
    "--no-sandbox",  # containers have none; the page is our own
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",  # /dev/shm is small in containers
]


@pytest.hookimpl(tryfirst=True)  # before -m selects by marker
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test that needs a page."""
    for item in items:
        if {"chromium", "lab", "shared_lab"} & set(getattr(item, "fixturenames", ())):
            item.add_marker("browser")


def browser_path() -> str | None:
    """Return where this machine's Chromium is."""
    found = (shutil.which(name) for name in BROWSERS)
    return next((path for path in found if path is not None), None)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Start this machine's own browser, never a downloaded one."""
    path = browser_path()
    if path is None:
        if os.environ.get("CURVELIB_NEED_BROWSER") == "1":
            pytest.fail("no Chromium on PATH, and CURVELIB_NEED_BROWSER=1")
        pytest.skip("no Chromium on PATH")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def server(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[LabServer]:
    """Start JupyterLab on a copy of the workbooks."""
    folder = tmp_path_factory.mktemp("lab") / "workbooks"
    shutil.copytree(WORKBOOKS, folder)
    started = LabServer(folder, tmp_path_factory.mktemp("home"))
    yield started
    started.close()


@pytest.fixture(scope="session")
def window(chromium: Browser) -> Iterator[BrowserContext]:
    """Keep one window, so that JupyterLab's own code is read once."""
    context = chromium.new_context(viewport={"width": 1600, "height": 1000})
    yield context
    context.close()


@contextmanager
def opened_page(window: BrowserContext, server: LabServer) -> Iterator[Lab]:
    """Open a page, and end its kernel with it."""
    page = window.new_page()
    opened = Lab(page, server.url, server.token, server.folder)
    yield opened
    opened.close()
    page.close()


@pytest.fixture
def lab(window: BrowserContext, server: LabServer) -> Iterator[Lab]:
    """Open a page for one test."""
    with opened_page(window, server) as opened:
        yield opened


@pytest.fixture(scope="module")
def shared_lab(window: BrowserContext, server: LabServer) -> Iterator[Lab]:
    """Open a page for a module whose tests run the cells anew: loading takes 4 s, running less."""
    with opened_page(window, server) as opened:
        yield opened
