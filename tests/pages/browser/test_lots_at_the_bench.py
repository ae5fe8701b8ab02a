"""Lots found, given away and taken in, in a browser with script."""

import pytest
from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench
from tests.pages.browser.test_every_page import what_axe_finds


def test_a_lot_is_found_while_typing_and_seed_given_away_is_put_back(bench: Bench) -> None:
    page = bench.page
    bench.open("/find")
    page.get_by_label("Variety, kind, code or a word", exact=True).press_sequentially("yaffelby th")
    expect(page.locator("#answer .sheets > li")).to_have_count(4)
    bench.shoot("find-while-typing")
    page.locator("#answer a", has_text="Yaffelby Thimble").nth(1).click()
    expect(page.get_by_text("PR0K9").first).to_be_visible()
    bench.press("Give")
    page.get_by_label("Seeds", exact=True).press_sequentially("150")
    expect(page.locator("#answer")).to_contain_text("that leaves 2")
    bench.shoot("give-away")
    bench.press("Give away")
    expect(page.locator(".done")).to_contain_text("150 seeds given away")
    bench.shoot("given-away")
    page.locator(".done button").click()
    expect(page.locator(".done")).to_contain_text("150 seeds put back")
    expect(page.locator("#amount")).to_contain_text("152 seeds")


def test_a_packet_is_taken_in_with_its_kinds_varieties_offered(bench: Bench) -> None:
    page = bench.page
    bench.open("/take-in")
    page.get_by_label("What is it?").fill("carrot")
    page.get_by_label("Its name").focus()
    expect(page.locator("#varieties option")).to_have_count(2)  # the demonstration's carrots
    expect(page.locator("#got")).to_contain_text("Carrot")
    page.get_by_label("Its name").fill("Dusk Finger")
    page.get_by_label("Year", exact=True).fill("2028")
    expect(page.get_by_label("Seeds", exact=True)).to_be_hidden()
    page.get_by_text("Count it", exact=True).click()
    page.get_by_label("Seeds", exact=True).fill("300")
    bench.press("Save and stop")
    expect(page.locator(".done")).to_contain_text("300 seeds came in")
    expect(page.get_by_role("link", name="Print its label")).to_be_visible()
    bench.shoot("taken-in")


@pytest.mark.parametrize("code", ["PR0K9", "YMY4K", "92H6X", "2H6KK", "0YHH7"])
def test_the_verdict_of_a_packet_stands_within_its_first_400_pixels(
    reader: Bench, code: str
) -> None:
    reader.open(f"/lot/{code}")
    sign = reader.page.locator(".sign")
    expect(sign).to_have_count(1)
    box = sign.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 400
    assert reader.page.evaluate("document.documentElement.scrollWidth") <= reader.width
    for scheme in ("light", "dark"):
        reader.page.emulate_media(color_scheme=scheme)
        reader.shoot(f"packet-{code}-{scheme}")
        assert what_axe_finds(reader) == []
