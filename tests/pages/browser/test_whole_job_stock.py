"""The stock, from the front page on: what needs doing, found, taken in, moved, counted, undone."""

import pytest
from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench

LOT = "26YPM"  # Crakemoor Tall, a pea saved in 2025: 460 seeds in the fridge


def test_what_needs_doing_is_told_with_its_reason(bench: Bench) -> None:
    bench.start()
    page = bench.page
    bench.reached("This week")
    counting = {one["id"] for one in bench.record("/germination-tests?open=true")["items"]}
    jobs = page.get_by_role("region", name="To do this week").get_by_role("listitem")
    assert jobs.count() == 5
    led = [one.get_attribute("href") or "" for one in jobs.locator("a.row").all()]
    due = {int(one.split("/")[2]) for one in led if one.startswith("/test/")}
    assert due
    assert due <= counting
    for job in jobs.all():
        reason = job.locator(".why").inner_text()
        assert reason.endswith((".", "?")), reason
        assert len(reason.split()) >= 4, reason
    bench.shoot("job-now")


@pytest.mark.parametrize(
    ("words", "lots"),
    [
        ("Crakemoor Tall", {"26YPM"}),
        ("broad bean", {"7HR4M"}),
        ("26ypm", {"26YPM"}),
        ("the Old Mill", set()),
    ],
    ids=["variety", "kind", "code", "word"],
)
def test_a_lot_is_found(phone: Bench, words: str, lots: set[str]) -> None:
    page = phone.page
    phone.start(find=words)
    if words == "26ypm":
        phone.reached("Crakemoor Tall")
        assert page.url == phone.root + "/lot/26YPM"
        return
    phone.reached("Find a lot")
    found = {one.inner_text() for one in page.locator("#answer .sheets .code").all()}
    assert lots <= found
    assert found
    asked = phone.record("/lots?limit=100&q=" + words.replace(" ", "%20"))["items"]
    assert found <= {one["code"] for one in asked}
    phone.tap(page.locator("#answer .sheets > li > a").first)
    assert page.url.removeprefix(phone.root + "/lot/") in found


def test_a_packet_is_taken_in(bench: Bench) -> None:
    bench.start()
    page = bench.page
    bench.press("Add seed")
    bench.reached("Add a packet")
    page.get_by_label("What is it?").fill("Carrot")
    page.get_by_label("Its name").fill("Dusk Finger")
    page.get_by_text("nobody named").click()
    page.get_by_label("From whom").fill("a neighbour")
    page.get_by_label("How it came").select_option(label="a gift")
    page.get_by_label("Where it goes").select_option(label="potting shed")
    page.get_by_text("Harvested", exact=True).click()
    page.get_by_label("Year", exact=True).fill("2026")
    page.get_by_text("Count it", exact=True).click()
    page.get_by_label("Seeds", exact=True).fill("300")
    bench.shoot("job-take-in")
    bench.press("Save and stop")
    expect(page.locator(".done")).to_contain_text("300 seeds came in")
    expect(page.locator("#kept")).to_contain_text("potting shed")
    bench.shoot("job-taken-in")
    held = bench.record("/lots/" + page.url.split("/lot/")[1].split("?")[0])
    assert held["variety"]["name"] == "Dusk Finger"
    assert held["variety"]["kind"] == "carrot"
    assert (held["amount"]["seeds"], held["harvest_year"]) == (300, 2026)
    assert (held["origin"], held["donor"]) == ("gift", "a neighbour")
    assert held["place"]["name"] == "potting shed"


def test_a_lot_is_moved(bench: Bench) -> None:
    bench.start(find=LOT)
    page = bench.page
    bench.press("Move")
    bench.reached("Move the lot")
    page.get_by_label("It goes to").select_option(label="potting shed")
    bench.shoot("job-move")
    bench.press("Move it")
    expect(page.locator("#kept")).to_have_text("potting shed, since February 2027")
    expect(page.locator("#kept")).to_be_in_viewport()
    bench.shoot("job-moved")
    *_, left, stands = bench.record(f"/lots/{LOT}/stays")["items"]
    assert (left["place"]["name"], left["until"]) == ("fridge, sealed jars", "2027-02-20")
    assert (stands["place"]["name"], stands["until"]) == ("potting shed", None)


def test_stock_is_taken_and_seed_given_away_and_the_last_change_undone(bench: Bench) -> None:
    bench.start(find=LOT)
    page = bench.page
    bench.press("Count it")
    bench.reached("Take stock")
    page.get_by_label("Seeds", exact=True).fill("451")
    page.get_by_label("What was found").fill("mice had been at it")
    bench.shoot("job-take-stock")
    bench.press("Book this count")
    expect(page.locator(".done")).to_contain_text("Counted: 451 seeds, 9 fewer than on record")

    bench.start(find=LOT)
    bench.press("Give")
    bench.reached("Give seed away")
    page.get_by_label("Seeds", exact=True).fill("51")
    page.get_by_label("To whom").fill("the seed circle")
    expect(page.locator("#answer")).to_contain_text("that leaves 400")
    bench.press("Give away")
    expect(page.locator(".done")).to_contain_text("51 seeds given away")
    assert bench.record(f"/lots/{LOT}")["amount"]["seeds"] == 400

    bench.start()
    bench.press("More")
    bench.press("Last changes")
    bench.reached("Last changes of stock")
    bench.shoot("job-last-changes")
    first = page.locator(".sheets > li").first
    expect(first).to_contain_text("51 seeds given away")
    bench.tap(first.get_by_role("button"))
    expect(page.locator(".done")).to_contain_text("51 seeds put back")
    bench.shoot("job-undone")
    taken, given, back = bench.record(f"/lots/{LOT}/movements")["items"][-3:]
    assert (taken["reason"], taken["seeds"]) == ("stock-take", -9)
    assert (given["seeds"], given["note"]) == (-51, "the seed circle")
    assert (back["seeds"], back["undoes"], back["balance_seeds"]) == (51, given["serial"], 451)
