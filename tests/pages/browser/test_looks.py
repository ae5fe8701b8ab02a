"""How the pages with the design's look stand at both widths."""

import pytest
from playwright.sync_api import expect

from tests.pages.browser.conftest import PHONE, Bench

LOOKED_AT = ["/", "/shelf", "/shelf?place=1&order=-name", "/lot/26YPM", "/season", "/more"]
MOST_HIGH, LEAST_TARGET = 2200, 48
# What is pressed, as large as a wet thumb; links in a line of text are excepted (WCAG 2.2, 2.5.8).
SMALL = """least => [...document.querySelectorAll(
  "button, .key, .chip, .row, .tin, .tick, summary, nav.ways a, ul.ways a,"
  + " .tally a, select, main .field > input"
)].map(one => [one, one.getBoundingClientRect()])
  .filter(([_, box]) => box.width && box.height && (box.width < least || box.height < least))
  .map(([one, box]) => `${one.outerHTML.slice(0, 90)} ${box.width}x${box.height}`)"""


@pytest.mark.parametrize("address", LOOKED_AT)
def test_nothing_slides_sideways_and_every_target_is_a_thumb_wide(
    reader: Bench, address: str
) -> None:
    reader.open(address)
    assert reader.page.evaluate("document.documentElement.scrollWidth") <= reader.width
    assert reader.page.evaluate(SMALL, LEAST_TARGET) == []


def test_the_front_page_is_short_on_a_phone_and_its_ways_are_always_in_sight(
    reader: Bench,
) -> None:
    reader.open("/")
    if reader.width == PHONE[0]:
        assert reader.page.evaluate("document.documentElement.scrollHeight") <= MOST_HIGH
        reader.page.mouse.wheel(0, 900)
        expect(reader.page.get_by_role("navigation", name="Main")).to_be_in_viewport(ratio=1)


def test_a_packet_is_found_from_any_page_without_a_page_between(bench: Bench) -> None:
    for address in ("/", "/season"):
        bench.open(address)
        bench.page.get_by_role("searchbox").fill("Crakemoor Tall")
        bench.page.get_by_role("searchbox").press("Enter")
        expect(bench.page.locator("main")).to_contain_text("26YPM")


def test_next_week_takes_one_tap_and_undo_one_more(bench: Bench) -> None:
    bench.open("/")
    jobs = bench.page.get_by_role("region", name="To do this week").get_by_role("listitem")
    first = jobs.first.locator("b").inner_text()
    jobs.first.get_by_role("button").click()
    expect(bench.page.get_by_role("status")).to_contain_text(f"Put off until 27 Feb 2027: {first}.")
    expect(jobs.first).not_to_contain_text(first)
    bench.press("Undo")
    expect(jobs.first).to_contain_text(first)


def test_the_keys_of_the_ticked_take_the_place_of_the_ways_on_a_phone(bench: Bench) -> None:
    bench.open("/shelf")
    ways, keys = bench.page.get_by_role("navigation", name="Main"), bench.page.locator(".picked")
    expect(keys).to_be_hidden()
    expect(ways).to_be_visible()
    bench.page.locator(".packets tbody label.tick").first.click()
    expect(keys).to_be_in_viewport()
    if bench.width == PHONE[0]:
        expect(ways).to_be_hidden()
