"""A germination test from the front page to what it means, on a phone and at a desk."""

import re

from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench

LOT = "PR0K9"  # Yaffelby Thimble, 152 seeds


def between(bench: Bench) -> tuple[int, int]:
    """The interval of germination as the page tells it while seedlings are counted."""
    found = re.search(r"end between (\d+) and (\d+) %", bench.page.inner_text("#answer"))
    assert found is not None
    return int(found[1]), int(found[2])


def width(pair: tuple[int, int]) -> int:
    return pair[1] - pair[0]


def test_a_test_is_started_counted_with_big_keys_finished_and_read(bench: Bench) -> None:
    bench.start(find=LOT)
    page = bench.page
    bench.press("Towel")
    bench.reached("Test Yaffelby Thimble")
    bench.shoot("job-test-start")
    for label, seeds in (("1", "10"), ("2", "10"), ("3", ""), ("4", "")):
        page.get_by_label(label, exact=True).fill(seeds)
    page.get_by_label("Day it is set").fill("2027-02-10")
    bench.press("Start the test")
    expect(page.get_by_role("heading", level=1)).to_contain_text("towel")
    assert bench.record(f"/lots/{LOT}")["amount"]["seeds"] == 132
    number = page.url.split("/test/")[1].split("?")[0]

    seen = [between(bench)]
    for replicate, normal in (("Towel 1", 8), ("Towel 2", 7)):
        if replicate == "Towel 2":
            page.locator("summary", has_text=replicate).click()
        part = page.get_by_role("group", name=replicate)
        key = part.get_by_role("button", name="+1 Sprouted today")
        size = key.bounding_box()
        assert size is not None
        assert min(size["width"], size["height"]) >= 48
        for _ in range(normal):
            key.click()
        left = page.locator(f"#left-{replicate[-1]}")
        expect(left).to_contain_text(f"{10 - normal} of 10 still waiting")
        seen.append(between(bench))
    part.get_by_role("button", name="+1 Sprouted badly").click()
    part.get_by_role("button", name="−1 Sprouted today").click()
    part.get_by_role("button", name="+1 Sprouted today").click()
    expect(page.locator("#answer")).to_contain_text("16 of 20 seeds judged")
    seen.append(between(bench))
    assert width(seen[0]) > width(seen[1]) > width(seen[2]) > width(seen[3])
    bench.shoot("job-test-counting")
    page.get_by_role("button", name="Save: 15 of 20").click()
    expect(page.get_by_text("You counted this day already")).to_be_visible()
    held = bench.record(f"/germination-tests/{number}")
    assert [one["normal"] for one in held["replicates"]] == [8, 7]
    assert [one["abnormal"] for one in held["replicates"]] == [0, 1]

    page.get_by_label("All that is still waiting is soft or mouldy").check()
    bench.press("Save and stop: end this towel")
    expect(page.get_by_role("heading", name="What it means")).to_be_visible()
    bench.shoot("job-test-read")
    done = bench.record(f"/germination-tests/{number}")
    assert done["finished_on"] == "2027-02-20"
    assert sum(one["dead"] for one in done["replicates"]) == 4
    told = done["evaluation"]["germination"]
    assert told["pct"] == 75
    assert told["low_pct"] < 75 < told["high_pct"]
    assert f"75 % ({told['low_pct']:.0f}–{told['high_pct']:.0f} %)" in bench.said
    assert "The towels agree" in bench.said
    # The lot's page knows of it.
    bench.start(find=LOT)
    expect(page.locator("main")).to_contain_text("15 of 20 sprouted")
