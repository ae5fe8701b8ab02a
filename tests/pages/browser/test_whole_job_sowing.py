"""How thickly to sow, asked from the front page on; recorded with one tap, counted weeks later."""

import re
from datetime import timedelta

from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench, serving
from tests.pages.conftest import DEMO_DAY

LOT = "26YPM"  # Crakemoor Tall, a pea: 460 seeds
WEEKS_LATER = DEMO_DAY + timedelta(days=24)


def seeds(bench: Bench) -> int:
    """How many seeds the answer says to sow."""
    found = re.match(r"([\d,]+) seed", bench.page.inner_text("#sow-answer"))
    assert found is not None
    return int(found[1].replace(",", ""))


def days_to_emergence(bench: Bench) -> int:
    """When the answer says the first will be up."""
    found = re.search(r"Up after\s+about (\d+) days", bench.page.inner_text("#answer"))
    assert found is not None
    return int(found[1])


def test_the_answer_follows_each_thing_asked_without_a_reload(bench: Bench) -> None:
    bench.start(find=LOT)
    page = bench.page
    bench.press("Sow")
    bench.reached("Sow Crakemoor Tall")
    page.evaluate("window.same = true")
    answer = page.locator("#answer")
    page.get_by_label("Soil temperature").fill("12")
    page.get_by_label("Plants wanted").fill("30")
    expect(answer).to_contain_text("30 wanted")
    thirty = seeds(bench)
    for words in ("a metre", "In all", " g ", "To thin", "seedlings", "Up after"):
        expect(answer).to_contain_text(words)
    cold = days_to_emergence(bench)

    page.get_by_label("Plants wanted").fill("60")
    expect(answer).to_contain_text("60 wanted")
    sixty = seeds(bench)
    assert sixty > thirty
    page.get_by_text("Spacing, your hand").click()
    page.get_by_label("How thickly").select_option("0.5")
    expect(page.locator("#sow-answer")).not_to_have_text(f"{sixty} seeds")
    assert seeds(bench) < sixty
    page.get_by_label("Soil temperature").fill("20")
    expect(answer).not_to_contain_text(f"about {cold} days")
    assert days_to_emergence(bench) < cold
    page.get_by_label("How it is sown").select_option("station")
    expect(answer).to_contain_text(re.compile(r"\d seeds? at each of \d+"))
    page.get_by_label("How it is sown").select_option("module")
    expect(answer).to_contain_text(re.compile(r"\d seeds? in each of \d+"))
    page.get_by_label("How it is sown").select_option("row")
    expect(answer).to_contain_text(re.compile(r"one seed every [\d.]+ cm"))
    assert page.get_by_label("Plants wanted").input_value() == "60"
    bench.shoot("job-sow-asked")
    assert page.evaluate("window.same"), "the page was loaded anew"


def test_a_sowing_is_recorded_with_one_tap_and_counted_weeks_later(
    bench: Bench, garden_url: str
) -> None:
    bench.start(find=LOT)
    page = bench.page
    bench.press("Sow")
    page.get_by_label("Plants wanted").fill("40")
    page.get_by_label("Soil temperature").fill("12")
    expect(page.locator("#answer")).to_contain_text("40 wanted")
    expect(page.locator("#answer")).to_contain_text("Up after")
    advised = seeds(bench)
    before = bench.taps
    bench.press("Sown today")
    assert bench.taps == before + 1 <= 4
    bench.reached("Crakemoor Tall, sown 20 Feb 2027")
    bench.shoot("job-sown")
    number = page.url.split("/sowing/")[1].split("?")[0]
    held = bench.record(f"/sowings/{number}")
    assert (held["lot"], held["seeds_sown"], held["plants_wanted"]) == (LOT, advised, 40)
    assert (held["method"], held["soil_temp_c"], held["units_emerged"]) == ("row", 12, None)
    assert bench.record(f"/lots/{LOT}")["amount"]["seeds"] == 460 - advised

    with serving(garden_url, WEEKS_LATER) as bench.root:
        bench.start()
        bench.press("More")
        bench.press("Sowings")
        bench.tap(page.get_by_role("link", name="Crakemoor Tall").first)
        bench.reached("Crakemoor Tall, sown 20 Feb 2027")
        page.get_by_role("textbox", name="Up in all so far").fill(str(advised - 9))
        for _ in range(2):
            bench.press("Up in all so far: one more")
        bench.press("Save the count")
        expect(page.locator("main")).to_contain_text(f"{advised - 7} have")
        bench.shoot("job-emerged")
        now = bench.record(f"/sowings/{number}")
        assert now["units_emerged"] == advised - 7
        assert now["emergence"][-1]["on_date"] == WEEKS_LATER.isoformat()
        page.goto("about:blank")
