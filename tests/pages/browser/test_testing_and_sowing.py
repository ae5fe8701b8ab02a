"""A test counted and finished, a sowing asked for and recorded; once without script too."""

from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench

OPEN = "/test/130"  # 3 and 6 seeds still to judge


def test_the_interval_narrows_as_seedlings_are_counted_and_the_test_is_read(bench: Bench) -> None:
    bench.open(OPEN)
    page = bench.page
    page.locator("summary", has_text="Towel 2").click()
    part = page.get_by_role("group", name="Towel 2")
    before = page.inner_text("#answer")
    for _ in range(3):
        part.get_by_role("button", name="+1 Sprouted today").click()
    expect(page.locator("#answer")).to_contain_text("14 of 20 seeds judged")
    expect(page.locator("#left-2")).to_contain_text("3 of 10 still waiting")
    expect(page.locator("#tally")).to_contain_text("13 of 20")
    assert page.inner_text("#answer") != before
    bench.shoot("test-counting")
    page.get_by_role("button", name="Save: 13 of 20").click()
    expect(page.get_by_text("You counted this day already")).to_be_visible()
    page.get_by_text("Is this the last count?").click()
    page.get_by_label("All that is still waiting is soft or mouldy").check()
    bench.press("Save and stop: end this towel")
    expect(page.get_by_role("heading", name="What it changes")).to_be_visible()
    bench.shoot("test-finished")
    bench.press("How thickly to sow it")
    expect(page).to_have_url(bench.root + "/lot/7HR4M/sow")


def test_the_answer_changes_at_once_and_one_tap_records_the_sowing(bench: Bench) -> None:
    bench.open("/lot/7HR4M/sow?method=row&plants=30&was=row")
    page = bench.page
    said = page.inner_text("#sow-answer")
    page.get_by_label("Plants wanted").fill("10")
    expect(page.locator("#sow-answer")).not_to_have_text(said)
    expect(page.locator("#answer")).to_contain_text("10 wanted")
    page.get_by_label("Soil temperature").fill("14")
    page.get_by_text("Spacing, your hand").click()
    page.get_by_label("How thickly").select_option("0.8")
    expect(page.locator("#answer")).to_contain_text("At 14 °C")
    page.get_by_label("How it is sown").select_option("station")
    expect(page.locator("#answer")).to_contain_text("Thin each to one plant")
    assert page.get_by_label("Plants wanted").input_value() == "10"
    bench.shoot("sow")
    bench.press("Sown today")
    expect(page.get_by_role("heading", level=1)).to_contain_text("sown")
    for _ in range(2):
        bench.press("Up in all so far: one more")
    bench.press("Save the count")
    expect(page.locator("#on_date-error")).to_contain_text("2 up on the day of sowing.")
    bench.shoot("sowing-doubted")
    assert "422" in bench.faults.pop()  # the browser's console tells of the refusal too
    bench.press("Yes, so it was")
    expect(page.locator("main")).to_contain_text("2 up")
    bench.shoot("sowing")


def test_a_test_is_counted_and_a_sowing_recorded_without_script(plain_bench: Bench) -> None:
    plain_bench.open(OPEN)
    page = plain_bench.page
    page.locator("summary", has_text="Towel 2").click()
    part = page.get_by_role("group", name="Towel 2")
    for key, seeds in (("+1", "1"), ("+5", "6"), ("−1", "5")):
        part.get_by_role("button", name=f"{key} Sprouted today").click()
        expect(part.locator("[name='counts[1].normal']")).to_have_value(seeds)
        focus = page.evaluate("document.activeElement.textContent")
        assert focus == f"{key} Sprouted today"  # the key just pressed
    part.locator("[name='counts[1].normal']").press("Enter")
    expect(page.get_by_text("You counted this day already")).to_be_visible()
    expect(page.locator("#left-2")).to_contain_text("1 of 10 still waiting")
    plain_bench.open("/lot/7HR4M/sow")
    page.get_by_label("Plants wanted").fill("8")
    plain_bench.press("Work it out again")
    expect(page.locator("#answer")).to_contain_text("8 wanted")
    plain_bench.press("Sown today")
    expect(page.get_by_role("heading", level=1)).to_contain_text("sown")
