"""Starts the real server on a fresh database and drives it with the installed Chromium."""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
import uuid
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

ROOT = Path(__file__).parents[2]
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
PLACES = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything in this folder, so that `-m "not browser"` leaves it out."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


def installed_chromium() -> str | None:
    return next((found for place in PLACES if (found := shutil.which(place))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    chromium = installed_chromium()
    if chromium is None:
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def site() -> Iterator[str]:
    """The address of a running server with the small hospital in it."""
    with tempfile.TemporaryDirectory(prefix="thenar-browser-") as data, database_url() as url:
        port = free_port()
        env = {
            **os.environ,
            "THENAR_DATA": data,
            "THENAR_DEMO": "1",
            "THENAR_DATABASE_URL": url,
            "DJANGO_SETTINGS_MODULE": "thenar.site.settings",
        }
        for module in (["django", "migrate", "--verbosity", "0"], ["tests.browser.small_house"]):
            subprocess.run([sys.executable, "-m", *module], env=env, cwd=ROOT, check=True)
        server = subprocess.Popen(
            [sys.executable, "-m", "thenar", "serve", "--port", str(port)],
            env=env,
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
        )
        try:
            wait_for(f"http://127.0.0.1:{port}/sign-in/", server)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(timeout=20)


class database_url:  # noqa: N801
    """A database of its own: SQLite in the data folder, or a fresh one on the PostgreSQL server given."""

    def __init__(self) -> None:
        self.server = os.environ.get("THENAR_DATABASE_URL", "")
        self.name = f"browser_{uuid.uuid4().hex[:8]}"

    def __enter__(self) -> str:
        if not self.server:
            return ""
        self._run(f'CREATE DATABASE "{self.name}"')
        return urlunsplit(urlsplit(self.server)._replace(path=f"/{self.name}"))

    def __exit__(self, *_: object) -> None:
        if self.server:
            self._run(f'DROP DATABASE "{self.name}" WITH (FORCE)')

    def _run(self, statement: str) -> None:
        import psycopg

        with psycopg.connect(self.server, autocommit=True) as connection:
            connection.execute(statement.encode())


def free_port() -> int:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        return int(listening.getsockname()[1])


def wait_for(address: str, server: subprocess.Popen[bytes]) -> None:
    for _ in range(150):
        if server.poll() is not None:
            raise RuntimeError("The server stopped before it answered.")
        try:
            urllib.request.urlopen(address, timeout=5).close()
            return
        except OSError:  # not listening yet, or slow to start
            time.sleep(0.2)
    raise RuntimeError("The server did not answer.")


class People:
    """Opens pages as the people of the demo."""

    def __init__(self, browser: Browser, site: str) -> None:
        self.browser = browser
        self.site = site
        self.contexts: list[BrowserContext] = []

    def page(self, who: str, *, width: int = 1280, javascript: bool = True) -> Page:
        """A page on which this person has just signed in."""
        context = self.browser.new_context(
            viewport={"width": width, "height": 900}, java_script_enabled=javascript
        )
        self.contexts.append(context)
        context.set_default_timeout(15_000)
        page = context.new_page()
        page.goto(f"{self.site}/demo/{who}/")
        return page


@pytest.fixture
def people(browser: Browser, site: str) -> Iterator[People]:
    opened = People(browser, site)
    yield opened
    for context in opened.contexts:
        context.close()
