"""A towel counted on a phone: few taps, keys in sight, no count lost for want of a signal."""

from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from tests.pages.browser.conftest import Bench, _bench

OPEN = "/test/130"  # two parts of ten; 7 and 4 of them judged before
SMALL = (360, 640)


@pytest.fixture
def small(chromium: Browser, served: str) -> Any:
    """The smallest phone of the design."""
    with _bench(chromium, served, SMALL, has_touch=True) as bench:
        yield bench


def kept(bench: Bench) -> list[Any]:
    found: list[Any] = bench.page.evaluate("JSON.parse(localStorage['seedbank.kept'] ?? '[]')")
    return found


def counted(bench: Bench, number: int = 130) -> list[tuple[str, int, int]]:
    """What stands of each part and day."""
    test = bench.record(f"/germination-tests/{number}")
    return [(one["on_date"], one["replicate"], one["normal"]) for one in test["counts"]]


def test_keys_and_steppers_stand_above_the_fold(small: Bench) -> None:
    small.open(OPEN)
    bar = small.page.locator(".count-bar").bounding_box()
    assert bar is not None
    assert bar["y"] + bar["height"] <= SMALL[1] + 1
    for name in ("Sprouted today", "Sprouted badly", "Rotten"):
        for key in ("+1", "−1"):
            box = small.page.get_by_role("button", name=f"{key} {name}").first.bounding_box()
            assert box is not None
            assert box["y"] + box["height"] <= bar["y"], name
            assert box["height"] >= 60
            assert box["width"] >= 60
    second = small.page.locator("summary", has_text="Towel 2").bounding_box()
    assert second is not None
    assert second["y"] + second["height"] <= bar["y"]  # the other towel is in reach too
    small.shoot("count-small")


def test_two_towels_are_counted_in_six_taps(bench: Bench) -> None:
    bench.start()
    page = bench.page
    bench.tap(page.locator(f'a[href="{OPEN}"]').first)
    page.get_by_role("group", name="Towel 1").get_by_role(
        "button", name="+1 Sprouted today"
    ).click()
    bench.taps += 1
    bench.tap(page.locator("summary", has_text="Towel 2"))
    key = page.get_by_role("group", name="Towel 2").get_by_role("button", name="+1 Sprouted today")
    for _ in range(3):
        key.click()
    bench.taps += 1
    bench.tap(page.get_by_role("button", name="Save: 14 of 20"))
    expect(page.get_by_text("You counted this day already")).to_be_visible()
    assert bench.taps <= 6
    assert {("2027-02-20", 1, 1), ("2027-02-20", 2, 3)} <= set(counted(bench))


def test_yesterdays_count_is_entered_and_a_day_to_come_is_refused_in_words(bench: Bench) -> None:
    bench.open(OPEN)
    page = bench.page
    bench.press("Yesterday")
    page.get_by_role("button", name="+1 Sprouted on 19 Feb 2027").first.click()
    page.get_by_role("button", name="Save: 11 of 20").click()
    expect(page.locator("#counts-on-record + ul")).to_contain_text("19 Feb 2027")
    assert ("2027-02-19", 1, 1) in counted(bench)
    page.goto(bench.root + f"{OPEN}?on_date=2027-03-04")
    expect(page.locator("#other-day-error")).to_contain_text("still to come")
    bench.shoot("count-day-to-come")
    assert "422" in bench.faults.pop()


def test_a_count_without_signal_is_kept_and_sent_once(bench: Bench) -> None:
    bench.open(OPEN)
    page, before = bench.page, counted(bench)
    page.context.set_offline(True)
    page.get_by_role("button", name="+1 Sprouted today").first.click()
    page.get_by_role("button", name="Save").first.click()
    expect(page.get_by_text("No signal. Kept on this device")).to_be_visible()
    bench.shoot("count-kept")
    [count] = kept(bench)
    bodies: list[str] = []
    page.on("request", lambda one: one.method == "POST" and bodies.append(one.post_data or ""))
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    page.evaluate("dispatchEvent(new Event('online'))")  # twice at once
    expect(page.get_by_text("No signal. Kept on this device")).to_be_hidden()
    page.wait_for_function("!JSON.parse(localStorage['seedbank.kept'] ?? '[]').length")
    assert set(bodies) == {count["body"]}  # the key it had
    assert sorted(set(counted(bench)) - set(before)) == [("2027-02-20", 1, 1), ("2027-02-20", 2, 0)]
    assert len(counted(bench)) == len(before) + 2
    page.reload()
    assert kept(bench) == []
    bench.faults.clear()  # the browser tells of each request that found no signal


def test_a_kept_count_that_is_refused_is_told_and_opened_as_it_was_typed(phone: Bench) -> None:
    phone.open(OPEN)
    page = phone.page
    page.context.set_offline(True)
    page.locator("[name='counts[0].normal']").fill("9")  # three are left
    page.get_by_role("button", name="Save").first.click()
    expect(page.get_by_text("No signal. Kept on this device")).to_be_visible()
    page.context.set_offline(False)
    for _ in range(4):
        page.evaluate("sendKept()")
    expect(page.get_by_text("could not be saved")).to_be_visible()
    page.get_by_role("link", name="Broad bean towel, 20 Feb 2027").click()
    expect(page.locator("[name='counts[0].normal']")).to_have_value("9")
    assert kept(phone) == []
    phone.faults.clear()
