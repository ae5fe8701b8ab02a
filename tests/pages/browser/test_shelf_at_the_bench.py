"""Work on many packets from the front page, at a phone's width and a desk's, with taps counted."""

from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench
from tests.pages.browser.test_every_page import what_axe_finds


def test_twenty_packets_of_one_place_are_moved_in_six_taps(bench: Bench) -> None:
    told = bench.record("/packets")["places"]
    place = max((one for one in told if one["place"]), key=lambda one: one["lots"])
    bench.start()
    bench.press("Shelf")
    bench.shoot("shelf")
    bench.page.emulate_media(color_scheme="dark")
    bench.shoot("shelf-dark")
    assert what_axe_finds(bench) == []
    bench.page.emulate_media(color_scheme="light")
    assert what_axe_finds(bench) == []
    bench.tap(bench.page.locator(f".tin[href$='place={place['place']['id']}']"))
    bench.tap(bench.page.locator("label.tick:has(input[name=all])"))
    bench.shoot("shelf-ticked")
    bench.press("Move")
    bench.page.get_by_label("Where to?").select_option(label="cellar")
    bench.taps += 1
    bench.shoot("shelf-move")
    bench.press("Move them")
    expect(bench.page.get_by_role("status").first).to_contain_text(f"{place['lots']} packets")
    assert bench.taps <= 6
    bench.shoot("shelf-moved")
    bench.press("Undo")
    expect(bench.page.get_by_role("status").first).to_contain_text("as before")


def test_half_a_packet_goes_to_a_friend_in_four_taps(bench: Bench) -> None:
    bench.start()
    bench.press("Shelf")
    row = bench.page.locator(".packets tbody tr").filter(has_not_text="not counted").nth(3)
    code = row.locator("input[name=lot]").get_attribute("value")
    had = bench.record(f"/lots/{code}")["amount"]["seeds"]
    bench.tap(row.locator("label.tick"))
    bench.press("Give")
    bench.page.get_by_label("To whom").fill("Orla")
    bench.press("Give it away")
    assert bench.taps <= 4
    assert bench.record(f"/lots/{code}")["amount"]["seeds"] == had - -(-had // 2)


def test_what_a_filter_shows_is_labelled_in_five_taps(bench: Bench) -> None:
    bench.start()
    bench.press("Shelf")
    bench.page.get_by_role("searchbox").fill("carrot")
    bench.press("Find")
    bench.tap(bench.page.locator("label.tick:has(input[name=all])"))
    bench.press("Label")
    bench.page.wait_for_url("**/labels?**")
    assert (
        bench.page.locator("input[name=lot]:checked").count()
        == bench.record("/packets?words=carrot")["total"]
    )
    assert bench.taps < 5  # and one more makes them


def test_the_shelf_does_not_slide_sideways(bench: Bench) -> None:
    for address in ("/shelf", "/shelf/work?work=give&lot=26YPM", "/shelf/place"):
        bench.open(address)
        wide = bench.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= bench.width, address
