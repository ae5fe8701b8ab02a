"""The whole job without script, and a task with the keyboard alone."""

from playwright.sync_api import Page, expect

from tests.pages.browser.conftest import Bench

LOT = "26YPM"  # Crakemoor Tall, a pea: 460 seeds in the fridge
MOST_STEPS = 60
_FOCUSED = """() => {
  const it = document.activeElement, style = getComputedStyle(it), box = it.getBoundingClientRect();
  return {
    name: (it.ariaLabel ?? (it.labels && it.labels[0] || it).innerText).trim(),
    ring: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
    seen: box.bottom > 0 && box.top < innerHeight && box.right > 0,
  };
}"""


def test_the_whole_job_is_done_without_script(plain_bench: Bench) -> None:
    bench, page = plain_bench, plain_bench.page
    bench.start()
    bench.press("Add seed")
    page.get_by_label("What is it?").fill("pea")
    page.get_by_label("Its name").fill("Crakemoor Tall")
    page.get_by_text("Harvested", exact=True).click()
    page.get_by_label("Year", exact=True).fill("2026")
    page.get_by_text("Count it", exact=True).click()
    page.get_by_label("Seeds", exact=True).fill("200")
    bench.press("Save and stop")
    expect(page.locator(".done")).to_contain_text("200 seeds came in")
    code = page.url.split("/lot/")[1].split("?")[0]

    bench.start(find=code)
    bench.press("Move")
    page.get_by_label("It goes to").select_option(label="kitchen drawer")
    bench.press("Move it")
    expect(page.locator("#kept")).to_contain_text("kitchen drawer")

    bench.press("Give")
    page.get_by_label("Seeds", exact=True).fill("50")
    bench.press("What would be left?")
    expect(page.locator("#answer")).to_contain_text("that leaves 150")
    bench.press("Give away")
    expect(page.locator(".done")).to_contain_text("50 seeds given away")
    page.locator(".done").get_by_role("button").click()
    expect(page.locator(".done")).to_contain_text("50 seeds put back")

    bench.press("Sow")
    page.get_by_label("Plants wanted").fill("12")
    bench.press("Work it out again")
    expect(page.locator("#answer")).to_contain_text("12 wanted")
    bench.press("Sown today")
    expect(page.get_by_role("heading", level=1)).to_contain_text("sown")
    (sown,) = bench.record(f"/sowings?lot={code}")["items"]

    bench.start(find=code)
    bench.press("Towel")
    for label, seeds in (("1", "10"), ("2", ""), ("3", ""), ("4", "")):
        page.get_by_label(label, exact=True).fill(seeds)
    bench.press("Start the test")
    bench.press("+1 Sprouted today")
    expect(page.get_by_role("textbox", name="Sprouted today")).to_have_value("1")
    bench.shoot("job-plain-test")
    page.get_by_role("button", name="Save: 1 of 10").click()
    expect(page.locator(".error:visible")).to_contain_text(
        "1 seedling on the day the seed was set."
    )
    assert "422" in bench.faults.pop()  # the browser's console tells of the refusal too
    bench.press("Yes, so it was")
    expect(page.locator(".done")).to_be_visible()
    (test,) = bench.record(f"/germination-tests?lot={code}")["items"]
    assert [one["normal"] for one in test["replicates"]] == [1]
    held = bench.record(f"/lots/{code}")
    assert held["amount"]["seeds"] == 200 - sown["seeds_sown"] - 10
    assert held["place"]["name"] == "kitchen drawer"


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what is so named has the focus; the focus must be seen all the way."""
    for _ in range(MOST_STEPS):
        page.keyboard.press("Tab")
        at = page.evaluate(_FOCUSED)
        assert at["ring"] >= 2, at
        assert at["seen"], at
        if at["name"] == name:
            return
    raise AssertionError(f"{name} is out of the keyboard's reach")


def test_seed_is_given_away_with_the_keyboard_alone(bench: Bench) -> None:
    bench.start()
    page = bench.page
    page.keyboard.press("Tab")
    assert page.evaluate(_FOCUSED)["name"] == "Skip to the page itself"
    bench.shoot("job-keyboard-skip")
    tab_to(page, "Find a packet by variety, kind, code or a word")
    page.keyboard.type(LOT)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Crakemoor Tall")
    tab_to(page, "Give")
    bench.shoot("job-keyboard-focus")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Give seed away")
    tab_to(page, "Seeds")
    page.keyboard.type("10")
    tab_to(page, "Give away")
    page.keyboard.press("Enter")
    expect(page.locator(".done")).to_contain_text("10 seeds given away")
    assert bench.record(f"/lots/{LOT}")["amount"]["seeds"] == 450
