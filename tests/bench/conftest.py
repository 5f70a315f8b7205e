"""A bench for each test, and one that is served to a real browser."""

from __future__ import annotations

import os
import shutil
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import uvicorn
from starlette.testclient import TestClient

from tests.bench.desk import Desk, open_desk, prepare

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fastapi import FastAPI
    from playwright.sync_api import Browser, Page

_CHROMIUM = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
_DRAWING = ("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
BENCH = {"width": 1920, "height": 1080}
DESK = {"width": 1366, "height": 768}


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench") / "larkmere"
    prepare(folder)
    return folder


@pytest.fixture
def desk(prepared: Path, tmp_path: Path) -> Iterator[Desk]:
    folder = tmp_path / "larkmere"
    shutil.copytree(prepared, folder)
    opened = open_desk(folder)
    yield opened
    opened.opened.close()


@pytest.fixture
def app(desk: Desk) -> FastAPI:
    return desk.app()


@pytest.fixture
def client(app: FastAPI) -> TestClient:
    return TestClient(app, base_url="http://127.0.0.1")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium; the CI installs it."""
    from playwright.sync_api import sync_playwright

    place = os.environ.get("CHROMIUM") or shutil.which("chromium")
    assert place, "the tests in a browser need chromium: apt-get install chromium"
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=place, args=list(_CHROMIUM))
        yield started
        started.close()


@pytest.fixture(scope="module")
def drawing_browser(browser: Browser) -> Iterator[Browser]:
    """A browser that draws in three dimensions without a graphics card."""
    place = os.environ.get("CHROMIUM") or shutil.which("chromium")
    plain = [one for one in _CHROMIUM if one != "--disable-gpu"]
    started = browser.browser_type.launch(executable_path=place, args=[*plain, *_DRAWING])
    yield started
    started.close()


@contextmanager
def being_served(app: FastAPI) -> Iterator[str]:
    """Serve a bench on loopback for a while."""
    config = uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error", timeout_graceful_shutdown=2)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    until = time.monotonic() + 20
    while not server.started:
        assert time.monotonic() < until, "the bench did not start"
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture
def served(app: FastAPI) -> Iterator[str]:
    """The bench, served on loopback."""
    with being_served(app) as address:
        yield address


@pytest.fixture
def page(browser: Browser, served: str) -> Iterator[Page]:
    """A page at bench size that fails the test where its script fails or its policy is broken."""
    context = browser.new_context(viewport=BENCH, base_url=served, locale="en-GB")  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(120_000)  # others use the processor too
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda told: faults.append(told.text) if "Content Security Policy" in told.text else None)
    yield page
    context.close()
    assert faults == []
