"""Each page as a browser finds it: readable by all, light, still, and its own."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.pages.browser.conftest import Bench

ADDRESSES = [
    "/settings",
    "/find",
    "/find?words=zzzz",
    "/lot/PR0K9?movement=1",
    "/lot/92H6X",
    "/lot/R7146/give?amount.seeds=5",
    "/lot/26YPM/discard",
    "/lot/26YPM/receive",
    "/lot/26YPM/count",
    "/lot/26YPM/move",
    "/lot/26YPM/change",
    "/lot/26YPM/changes",
    "/take-in",
    "/import",
    "/changes",
    "/tests",
    "/test/130",
    "/test/100",
    "/lot/RPR02/test",
    "/lot/RPR02/test/finished",
    "/lot/7HR4M/sow?method=row&plants=30&was=row",
    "/lot/RPR02/sow?method=module&plants=20&was=module",
    "/variety/1/sow",
    "/sowing",
    "/sowing/133",
    "/sowing/120",
    "/",
    "/season",
    "/season/keep",
    "/plan",
    "/plan/alongside",
    "/variety/24",
    "/variety/52/grow",
    "/variety/24/crossing",
    "/crop/58",
    "/flowering",
    "/supply",
    "/record",
    "/more",
    "/about",
]
MOST_BYTES = 60_000
# Contrast 7:1 is WCAG 2.2 criterion 1.4.6; axe leaves it out unless asked.
ASKED = {"rules": {"color-contrast-enhanced": {"enabled": True}}}


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_is_accessible_light_and_still(bench: Bench, address: str) -> None:
    wire = bench.page.context.new_cdp_session(bench.page)
    wire.send("Network.enable")
    sizes: list[float] = []
    wire.on("Network.loadingFinished", lambda done: sizes.append(done["encodedDataLength"]))
    bench.open(address)
    bench.page.wait_for_load_state("networkidle")
    assert 0 < sum(sizes) < MOST_BYTES
    found = Axe().run(bench.page, options=ASKED)
    assert [told(one) for one in found.response["violations"]] == []
    assert bench.page.evaluate("window.shifted") == 0
    width = bench.page.evaluate("document.documentElement.scrollWidth")
    assert width <= bench.width, "the page slides sideways"


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_is_readable_at_night(dark_bench: Bench, address: str) -> None:
    dark_bench.open(address)
    found = Axe().run(dark_bench.page, options=ASKED)
    assert [told(one) for one in found.response["violations"]] == []


def told(violation: dict[str, object]) -> tuple[object, object]:
    nodes = violation["nodes"]
    assert isinstance(nodes, list)
    return violation["id"], [node["html"][:120] for node in nodes]
