"""Real Chromium at a phone's width and at a desk's, on the demonstration garden served for real."""

import os
import re
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Locator,
    Page,
    Playwright,
    Route,
    expect,
    sync_playwright,
)
from sqlalchemy import URL

from seedbank.server.app import create_server
from seedbank.settings import Settings
from tests.pages.conftest import DEMO_DAY, copied

PHONE, DESK = (360, 740), (1280, 800)
MOST_TAPS = 3
# Waited at most, where other work goes on beside it.
START_MS, A_PLAN_MS, PATIENCE_MS = 180_000, 180_000, 60_000
expect.set_options(timeout=PATIENCE_MS)
_QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
_SHIFTS = """
window.shifted = 0;
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) if (!one.hadRecentInput) window.shifted += one.value;
}).observe({type: "layout-shift", buffered: true});
"""


@dataclass
class Bench:
    """A browser at one width, and what went through its wire."""

    page: Page
    root: str
    shots: Path | None
    width: int
    faults: list[str] = field(default_factory=list)
    taps: int = 0

    def start(self, find: str = "") -> None:
        """Come to the front page, and from there find what is named; taps are counted."""
        self.open("/")
        self.taps = 0
        if find:
            self.page.get_by_role("searchbox").fill(find)
            self.tap(self.page.get_by_role("button", name="Find"))

    def tap(self, what: Locator) -> None:
        """Press it."""
        what.click()
        self.taps += 1

    def reached(self, heading: str) -> None:
        """The page of a task is there, within three taps of where the count began."""
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)
        assert self.taps <= MOST_TAPS

    def record(self, address: str) -> Any:
        """What the record holds, as the API tells it."""
        answer = self.page.context.request.get(
            self.root + address, headers={"Accept": "application/json"}
        )
        assert answer.ok, (address, answer.status)
        return answer.json()

    def open(self, address: str) -> None:
        """Go to an address of the garden's; it must answer."""
        answer = self.page.goto(self.root + address)
        assert answer is not None
        assert answer.ok, (address, answer.status)

    def press(self, name: str) -> None:
        """Press the key or follow the link of this name."""
        either = self.page.get_by_role("button", name=name, exact=True).or_(
            self.page.get_by_role("link", name=name, exact=True)
        )
        self.tap(either.first)

    def shoot(self, name: str) -> None:
        """Keep a picture of the whole page, where somebody wants to look at it."""
        if self.shots is not None:
            self.page.wait_for_load_state("networkidle")
            self.page.screenshot(path=self.shots / f"{name}-{self.width}.png", full_page=True)

    @property
    def said(self) -> str:
        """All that the page says, on one line."""
        return " ".join(self.page.inner_text("main").split())

    @property
    def focus(self) -> list[object]:
        """Name of the box that is being filled, and where in it the caret is."""
        found: list[object] = self.page.evaluate(
            "[document.activeElement.name, document.activeElement.selectionStart]"
        )
        return found


class Slow:
    """A server whose answers at an address are let through one by one, in any order."""

    def __init__(self, bench: Bench, address: str) -> None:
        self.page, self.held = bench.page, list[Route]()
        self.page.route(re.compile(address), lambda route: self.held.append(route))

    def wait_for(self, number: int) -> None:
        """Until so many have been asked for."""
        for _ in range(100):
            if len(self.held) >= number:
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"{len(self.held)} asked for, not {number}")

    def answer(self, which: int) -> None:
        """Let one through, and give the page time to do what it does with it."""
        self.held[which].continue_()
        self.page.wait_for_timeout(500)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium."""
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("Chromium is not on this machine (Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        browser = launched(playwright, found)
        yield browser
        browser.close()


def launched(playwright: Playwright, chromium: str) -> Browser:
    """Chromium, asking nothing of the net for itself."""
    return playwright.chromium.launch(
        executable_path=shutil.which(chromium), args=_QUIET, timeout=START_MS
    )


@contextmanager
def serving(garden_url: str, day: date = DEMO_DAY) -> Iterator[str]:
    """Address of a garden, served on a day by a real server on loopback."""
    app = create_server(Settings(database_url=garden_url, today=day))
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        assert thread.is_alive()
        time.sleep(0.01)  # not in its way while it starts
    port = server.servers[0].sockets[0].getsockname()[1]
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join()
        app.state.wiring.writing.kw["bind"].dispose()


@pytest.fixture
def served(garden_url: str) -> Iterator[str]:
    """A garden of this test's own."""
    with serving(garden_url) as address:
        yield address


@pytest.fixture(scope="session")
def standing(demo: URL, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The one garden of all tests that only read."""
    with copied(demo, tmp_path_factory.mktemp("standing")) as url, serving(url) as address:
        yield address


def _opened(context: BrowserContext, served: str, width: int) -> Bench:
    asked = os.environ.get("SEEDBANK_SCREENSHOTS")
    shots = Path(asked) if asked else None
    if shots is not None:
        shots.mkdir(parents=True, exist_ok=True)
    context.set_default_timeout(PATIENCE_MS)
    context.add_init_script(_SHIFTS)
    page = context.new_page()
    bench = Bench(page, served, shots, width)
    page.on("console", lambda said: said.type == "error" and bench.faults.append(said.text))
    page.on("pageerror", lambda error: bench.faults.append(str(error)))
    outside: Any = lambda url: not url.startswith(bench.root) and bench.faults.append(url)  # noqa: E731
    page.on("request", lambda asked: outside(asked.url))
    return bench


@contextmanager
def _bench(chromium: Browser, served: str, size: tuple[int, int], **more: Any) -> Iterator[Bench]:
    """A browser; nothing may fail in it or be asked of other hosts."""
    viewport: Any = {"width": size[0], "height": size[1]}
    context = chromium.new_context(viewport=viewport, locale="en-GB", **more)
    bench = _opened(context, served, size[0])
    yield bench
    context.close()
    assert bench.faults == []


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def bench(request: pytest.FixtureRequest, chromium: Browser, served: str) -> Iterator[Bench]:
    """A browser at 360 px and at 1280 px."""
    size = request.param
    with _bench(chromium, served, size, has_touch=size == PHONE) as bench:
        yield bench


@pytest.fixture
def phone(chromium: Browser, served: str) -> Iterator[Bench]:
    """A phone alone, where the width makes no difference."""
    with _bench(chromium, served, PHONE, has_touch=True) as bench:
        yield bench


@pytest.fixture
def plain_bench(chromium: Browser, served: str) -> Iterator[Bench]:
    """A phone with JavaScript off."""
    with _bench(chromium, served, PHONE, java_script_enabled=False) as bench:
        yield bench


@pytest.fixture(scope="session", params=[PHONE, DESK], ids=["phone", "desk"])
def _open_reader(
    request: pytest.FixtureRequest, chromium: Browser, standing: str
) -> Iterator[Bench]:
    with _bench(chromium, standing, request.param) as bench:
        yield bench


@pytest.fixture
def reader(_open_reader: Bench) -> Iterator[Bench]:
    """A browser at either width that only reads, from one page to the next."""
    yield _open_reader
    faults = [*_open_reader.faults]
    _open_reader.faults.clear()  # nothing of it falls to the next test
    assert faults == []
