"""Real Chromium at a phone's width and at a desk's, on the demonstration garden served for real."""

import os
import shutil
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from seedbank.server.app import create_server
from seedbank.settings import Settings
from tests.pages.conftest import DEMO_DAY

PHONE, DESK = (360, 740), (1280, 800)
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
    shots: Path
    width: int
    faults: list[str]

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
        either.first.click()

    def shoot(self, name: str) -> None:
        """Keep a picture of the whole page, to be looked at."""
        self.page.screenshot(path=self.shots / f"{name}-{self.width}.png", full_page=True)

    @property
    def said(self) -> str:
        """All that the page says, on one line."""
        return " ".join(self.page.inner_text("main").split())


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium."""
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("Chromium is not on this machine (Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=_QUIET)
        yield browser
        browser.close()


@pytest.fixture
def served(garden: Path) -> Iterator[str]:
    """Address of the garden, served by a real server on loopback."""
    app = create_server(Settings(database_url=f"sqlite:///{garden}", today=DEMO_DAY))
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        assert thread.is_alive()
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()


def _shots(tmp_path: Path) -> Path:
    folder = Path(os.environ.get("SEEDBANK_SCREENSHOTS") or tmp_path / "screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _opened(context: BrowserContext, served: str, shots: Path, width: int) -> Bench:
    context.set_default_timeout(15_000)
    context.add_init_script(_SHIFTS)
    page = context.new_page()
    bench = Bench(page, served, shots, width, [])
    page.on("console", lambda said: said.type == "error" and bench.faults.append(said.text))
    page.on("pageerror", lambda error: bench.faults.append(str(error)))
    outside: Any = lambda asked: not asked.url.startswith(served) and bench.faults.append(asked.url)  # noqa: E731
    page.on("request", outside)
    return bench


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def bench(
    request: pytest.FixtureRequest, chromium: Browser, served: str, tmp_path: Path
) -> Iterator[Bench]:
    """A browser at 360 px and at 1280 px; nothing may fail in it or be asked of other hosts."""
    width, height = request.param
    context = chromium.new_context(
        viewport={"width": width, "height": height}, has_touch=width == PHONE[0]
    )
    bench = _opened(context, served, _shots(tmp_path), width)
    yield bench
    context.close()
    assert bench.faults == []


@pytest.fixture
def plain_bench(chromium: Browser, served: str, tmp_path: Path) -> Iterator[Bench]:
    """A phone with JavaScript off."""
    context = chromium.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, java_script_enabled=False
    )
    bench = _opened(context, served, _shots(tmp_path), PHONE[0])
    yield bench
    context.close()
    assert bench.faults == []


@pytest.fixture
def dark_bench(chromium: Browser, served: str, tmp_path: Path) -> Iterator[Bench]:
    """A phone at night."""
    context = chromium.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, color_scheme="dark"
    )
    bench = _opened(context, served, _shots(tmp_path), PHONE[0])
    yield bench
    context.close()
    assert bench.faults == []
