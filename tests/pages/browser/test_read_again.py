"""Pages read again while they are filled: the same with script and without, and nothing is lost."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Route, expect

from tests.pages.browser.conftest import Bench, Slow

GIVE, SOW, CROSSING = "/lot/PR0K9/give", "/lot/7HR4M/sow", "/variety/1/crossing"


def test_an_answer_that_comes_late_is_passed_over(phone: Bench) -> None:
    phone.open(GIVE)
    box, answer = phone.page.get_by_label("Seeds", exact=True), phone.page.locator("#answer")
    slow = Slow(phone, r"/give\?")
    box.fill("100")
    slow.wait_for(1)
    expect(answer).to_have_attribute("aria-busy", "true")
    box.fill("150")
    slow.wait_for(2)
    slow.answer(1)
    expect(answer).to_contain_text("that leaves 2")
    slow.answer(0)
    expect(answer).to_contain_text("that leaves 2")
    expect(answer).to_have_attribute("aria-busy", "false")
    assert "key=" not in slow.held[1].request.url


def test_what_is_typed_while_an_answer_is_slow_is_there_afterwards(phone: Bench) -> None:
    page = phone.page
    phone.open(SOW)
    slow = Slow(phone, r"/sow\?")
    page.get_by_label("Plants wanted").fill("10")
    slow.wait_for(1)
    page.get_by_label("Seeds sown").fill("1234")
    page.keyboard.press("ArrowLeft")
    slow.answer(0)
    expect(page.locator("#answer")).to_contain_text("10 wanted")
    expect(page.get_by_label("Seeds sown")).to_have_value("1234")
    assert phone.focus == ["sowings[0].seeds_sown", 3]
    page.get_by_label("Plants wanted").fill("12")
    slow.wait_for(2)
    page.get_by_label("Seeds sown").focus()
    slow.answer(1)
    expect(page.locator("#answer")).to_contain_text("12 wanted")
    expect(page.get_by_label("Seeds sown")).not_to_have_value("1234")  # it was for ten plants
    assert phone.focus[0] == "sowings[0].seeds_sown"


def test_another_way_of_sowing_asks_for_what_it_needs_and_boxes_keep_what_they_hold(
    phone: Bench,
) -> None:
    page = phone.page
    phone.open(f"{SOW}?method=row&plants=30&was=row")
    page.get_by_text("Spacing, your hand").click()
    spacing = page.get_by_label("Final spacing")
    page.get_by_label("Plants wanted").fill("11")
    expect(page.locator("#answer")).to_contain_text("11 wanted")
    expect(spacing).to_be_visible()  # what was opened stays open
    slow = Slow(phone, r"/sow\?")
    page.get_by_label("How it is sown").select_option("module")
    slow.wait_for(1)
    page.get_by_label("Plants wanted").focus()
    page.keyboard.press("End")
    page.keyboard.type("0")
    slow.wait_for(2)
    slow.answer(0)
    expect(page.get_by_label("Plants wanted")).to_have_value("110")
    slow.answer(1)
    expect(page.locator("#answer")).to_contain_text("110 wanted")
    expect(page.get_by_label("Plants wanted")).to_have_value("110")
    assert phone.focus == ["plants", 3]
    expect(page.locator("#cells")).to_have_count(1)
    expect(page.locator("#row_m")).to_have_count(0)
    assert "method=module" in page.url
    assert "plants=110" in page.url


def test_leaving_a_box_already_answered_asks_nothing_so_that_a_key_is_not_moved_away(
    phone: Bench,
) -> None:
    page = phone.page
    phone.open(SOW)
    asked: list[str] = []
    # The tab's own picture is asked for anew whenever the address changes.
    page.on("request", lambda one: one.resource_type == "fetch" and asked.append(one.url))
    page.get_by_label("Plants wanted").fill("12")
    expect(page.locator("#answer")).to_contain_text("12 wanted")
    count = len(asked)
    page.get_by_label("Plants wanted").blur()
    page.wait_for_timeout(400)
    assert len(asked) == count
    phone.press("Sown today")
    expect(page.get_by_role("heading", level=1)).to_contain_text("sown")


@pytest.mark.parametrize(
    "fails",
    [
        pytest.param(lambda route: route.abort(), id="unreachable"),
        pytest.param(lambda route: route.fulfill(status=503, body="<p>Busy"), id="busy"),
    ],
)
def test_a_page_that_cannot_be_read_again_says_so_until_it_can(
    phone: Bench, fails: Callable[[Route], None]
) -> None:
    page = phone.page
    phone.open("/find")
    box = page.get_by_label("Variety, kind, code or a word", exact=True)
    warning = page.get_by_text("couldn’t be read again")
    expect(warning).to_be_hidden()
    page.route(re.compile(r"/find\?"), fails)
    box.press_sequentially("yaffelby")
    expect(warning).to_be_visible()
    expect(box).to_have_value("yaffelby")
    phone.faults.clear()  # Chromium tells of it too
    page.unroute_all()
    box.press_sequentially(" th")
    expect(page.locator("#answer .sheets > li")).to_have_count(4)
    expect(warning).to_be_hidden()
    assert phone.focus == ["words", 11]


@pytest.mark.parametrize("address", ["/take-in", "/test/130"])
def test_where_nothing_can_be_asked_what_is_typed_can_still_be_sent(
    phone: Bench, address: str
) -> None:
    page = phone.page
    phone.open(address)
    page.route(re.compile(re.escape(address) + r"\?"), lambda route: route.abort())
    if address == "/take-in":
        page.get_by_label("What is it?").fill("carrot")
        page.get_by_label("Its name").fill("Dusk Finger")
    else:
        page.get_by_role("button", name="+1 Sprouted today").first.click()
    expect(page.get_by_text("couldn’t be read again")).to_be_visible()
    page.get_by_role("button", name="Save").last.click()
    expect(page.locator(".done").first).to_be_visible()
    told = [one for one in phone.faults if "ERR_FAILED" not in one]  # Chromium tells of each
    phone.faults[:] = told


def test_going_back_shows_what_was_asked_for_and_once_more_where_one_came_from(
    phone: Bench,
) -> None:
    page = phone.page
    phone.open("/more")
    phone.open("/find")
    page.get_by_label("Variety, kind, code or a word", exact=True).press_sequentially("yaffelby th")
    found = page.locator("#answer .sheets > li")
    expect(found).to_have_count(4)
    found.first.get_by_role("link").first.click()
    expect(page).to_have_url(re.compile("/lot/"))
    page.go_back()
    expect(page.get_by_label("Variety, kind, code or a word", exact=True)).to_have_value(
        "yaffelby th"
    )
    expect(found).to_have_count(4)
    page.go_back()
    expect(page).to_have_url(phone.root + "/more")


def test_a_fault_is_told_beside_its_box_and_goes_once_it_is_mended(phone: Bench) -> None:
    page = phone.page
    phone.open(CROSSING)
    box = page.get_by_label("In which year")
    said = page.locator("#answer").inner_text()
    box.fill("soon")
    expect(page.locator("#year-error")).to_be_visible()
    expect(box).to_have_attribute("aria-invalid", "true")
    phone.faults.clear()  # Chromium tells of the 422
    box.fill("2027")
    expect(page.locator("#year-error")).to_have_count(0)
    expect(page.locator("#answer")).to_have_text(said, use_inner_text=True)
    assert box.get_attribute("aria-invalid") is None


@pytest.mark.parametrize(
    ("address", "boxes", "key"),
    [
        ("/find", {"words": "yaffelby th"}, "Find"),
        (GIVE, {"amount.seeds": "150"}, "What would be left?"),
        (CROSSING, {"year": "2028"}, "Check"),
        (SOW, {"plants": "8", "soil_temp_c": "14"}, "Work it out again"),
    ],
)
def test_with_and_without_script_the_same_is_answered(
    phone: Bench, plain_bench: Bench, address: str, boxes: dict[str, str], key: str
) -> None:
    answers = []
    for bench in (phone, plain_bench):
        bench.open(address)
        before = bench.page.locator("#answer").inner_text()
        for name, text in boxes.items():
            bench.page.locator(f'main [name="{name}"]').fill(text)
        if bench is plain_bench:
            keys = bench.page.locator("main").get_by_role("button", name=key, exact=True)
            keys.click()
        expect(bench.page.locator("#answer")).not_to_have_text(before, use_inner_text=True)
        bench.page.wait_for_load_state("networkidle")
        answers.append(bench.page.locator("#answer").inner_text())
    assert answers[0] == answers[1]
