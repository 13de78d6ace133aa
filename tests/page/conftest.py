"""The page in a real browser, over a service of its own; skipped where there is no Chromium, except in CI."""

from __future__ import annotations

import io
import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

STATIC = Path(__file__).parents[2] / "src" / "roofwell" / "web" / "static" / "index.html"
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")


@pytest.fixture(scope="session", autouse=True)
def _a_browser_and_a_page() -> None:
    for there, what in ((CHROMIUM, "no Chromium was found"), (STATIC.is_file(), "the page was not built")):
        if not there:
            if os.environ.get("CI"):
                pytest.fail(what)
            pytest.skip(what)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=CHROMIUM,
            chromium_sandbox=getattr(os, "geteuid", lambda: 1)() != 0,
            args=[
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--disable-gpu",
            ],
        )
        yield started
        started.close()


AXE = Path(__file__).parents[2] / "page" / "node_modules" / "axe-core" / "axe.min.js"
LOOKS = ("paper", "dark", "sun")


@pytest.fixture
def readable() -> Callable[[Page, str], None]:
    """Hold a screen, as it stands now, to what axe finds, and to the width of the screen, in each look."""

    def hold(page: Page, where: str) -> None:
        if not page.evaluate("'axe' in window"):
            page.evaluate(AXE.read_text(encoding="utf-8"))
        chosen = page.evaluate("document.documentElement.dataset.look")
        for look in LOOKS:
            page.evaluate("look => { document.documentElement.dataset.look = look; }", look)
            found = page.evaluate(
                "axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice']})"
            )
            said = [(v["id"], [node["target"] for node in v["nodes"]][:3]) for v in found["violations"]]
            assert said == [], f"{where}, {look}: {json.dumps(said)}"
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{where}, {look}"
        page.evaluate("look => { document.documentElement.dataset.look = look; }", chosen)

    return hold


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    fresh = browser.new_context(viewport={"width": 1366, "height": 650})
    yield fresh
    fresh.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


@pytest.fixture
def take() -> Callable[..., None]:
    """Take a picture for the docs where it is missing, or where new ones are asked for (ROOFWELL_PICTURES)."""

    def taken(page: Page, file: Path, *, whole: bool = True) -> None:
        if file.exists() and not os.environ.get("ROOFWELL_PICTURES"):
            return
        page.wait_for_timeout(500)
        shot = Image.open(io.BytesIO(page.screenshot(full_page=whole)))
        file.parent.mkdir(exist_ok=True, parents=True)
        shot.convert("RGB").quantize(128, method=Image.Quantize.MAXCOVERAGE, kmeans=1).save(
            file, optimize=True
        )

    return taken


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    with _started(tmp_path) as one:
        yield one


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """One service for all tests that only look: to start it takes seconds."""
    with _started(tmp_path_factory.mktemp("shared")) as one:
        yield one


@pytest.fixture(scope="session")
def working(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """Another, for tests that each have a house of their own in it: its list is not the demo alone."""
    with _started(tmp_path_factory.mktemp("working")) as one:
        yield one


@contextmanager
def _started(folder: Path) -> Iterator[Service]:
    one = Service(folder / "jobs.sqlite")
    one.start()
    yield one
    one.stop()


class Service:
    """``roofwell serve`` as a person starts it; it can be ended and started again on the same jobs."""

    def __init__(self, store: Path) -> None:
        self.store = store
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}/"
        self._running: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        command = [sys.executable, "-m", "roofwell", "serve", "--no-browser"]
        self._running = subprocess.Popen([*command, "--store", str(self.store), "--port", str(self.port)])
        for _ in range(600):
            try:
                with urllib.request.urlopen(self.url + "api/health", timeout=5):
                    return
            except OSError:
                time.sleep(0.1)
        raise TimeoutError("the service did not start")

    def stop(self) -> None:
        if self._running is not None:
            self._running.kill()
            self._running.wait()
            self._running = None
