"""Each page as a browser finds it: readable by all, light, still, and its own."""

import re
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from fastapi.routing import APIRoute

from seedbank.server.pages import later_pages
from tests.pages.addresses import ADDRESSES
from tests.pages.browser.conftest import PHONE, Bench

# Pages that tell of a mistake are pages too; these answer with the status beside them.
MISTAKEN = {
    "/lot/26YPN": 422,  # misread: the check letter does not fit
    "/lot/8MYR0": 404,  # a code that no lot has yet
    "/test/99999": 404,
    "/find?verdict=nonsense": 422,
    "/lot/26YPM/sow?plants=none&method=row&was=row": 422,
    "/labels.pdf": 422,
}
# What the routers answer with no page: pictures, paper and the feed are tried where they're drawn.
NO_PAGES = (".svg", ".pdf", ".ics", ".jpg")
MOST_BYTES = 44_000
AXE: str = Axe().axe_script
# Contrast 7:1 is WCAG 2.2 criterion 1.4.6; axe leaves it out unless asked.
BRIEF = {"resultTypes": ["violations"]}  # what is in order needn't be told node by node
ASKED = {"rules": {"color-contrast-enhanced": {"enabled": True}}} | BRIEF
# What else axe asks after is the same by night as by day.
NIGHT = ["color-contrast", "color-contrast-enhanced"]
NIGHT_AT_A_DESK = {"/", "/shelf"}  # a phone's pages have the same colours; these stand for all
CONTRAST = {"runOnly": {"type": "rule", "values": NIGHT}} | BRIEF


def test_no_page_is_left_out_here() -> None:
    tried = [urlsplit(one).path for one in ADDRESSES]
    forgotten = [
        route.path
        for routes in later_pages()
        for route in routes()
        if isinstance(route, APIRoute)
        and "GET" in route.methods
        and not route.path.endswith(NO_PAGES)
        and not any(route.path_regex.match(path) for path in tried)
    ]
    assert forgotten == []


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_is_accessible_light_still_and_readable_at_night(
    reader: Bench, address: str
) -> None:
    wire = reader.page.context.new_cdp_session(reader.page)
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": True})  # as at a first visit
    sizes: list[float] = []
    wire.on("Network.loadingFinished", lambda done: sizes.append(done["encodedDataLength"]))
    reader.open(address)
    is_readable_and_still(reader)
    assert 0 < sum(sizes) < MOST_BYTES
    wire.detach()
    if reader.width == PHONE[0] or address in NIGHT_AT_A_DESK:
        reader.page.emulate_media(color_scheme="dark")
        found = what_axe_finds(reader, CONTRAST)
        reader.page.emulate_media(color_scheme="light")
        assert found == []


@pytest.mark.parametrize("address", MISTAKEN)
def test_a_page_that_tells_of_a_mistake_is_as_good_as_the_others(
    reader: Bench, address: str
) -> None:
    answer = reader.page.goto(reader.root + address)
    assert answer is not None
    assert answer.status == MISTAKEN[address]
    is_readable_and_still(reader)
    name = re.sub(r"\W+", "-", address).strip("-")
    reader.shoot(f"mistaken-{name}")
    # The browser itself remarks on the status; nothing else may be amiss.
    assert [
        one for one in reader.faults if "the server responded with a status of" not in one
    ] == []
    reader.faults.clear()


def is_readable_and_still(bench: Bench) -> None:
    """Readable by all, nothing moved while it loaded, and nothing slides sideways."""
    assert what_axe_finds(bench) == []
    assert bench.page.evaluate("window.shifted") == 0
    width = bench.page.evaluate("document.documentElement.scrollWidth")
    assert width <= bench.width, "the page slides sideways"


def what_axe_finds(bench: Bench, asked: dict[str, object] = ASKED) -> list[tuple[object, object]]:
    """What axe holds against the page."""
    if not bench.page.evaluate("'axe' in window"):
        bench.page.evaluate(AXE)
    found = bench.page.evaluate("asked => axe.run(document, asked)", asked)
    return [told(one) for one in found["violations"]]


def told(violation: dict[str, object]) -> tuple[object, object]:
    nodes = violation["nodes"]
    assert isinstance(nodes, list)
    return violation["id"], [node["html"][:120] for node in nodes]
