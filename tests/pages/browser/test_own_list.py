"""A long list of somebody's own, answered on its page: nothing that is typed is ever lost."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.pages.browser.conftest import Bench, Slow

ROWS = 200
LIST = "Crop,Variety,How many,Year,Heap\n" + "".join(
    f"{'neep' if n == 50 else 'carrot'},Invented {n},1/2 packet,{2001 + n % 20},oddroot\n"
    for n in range(ROWS)
)


def brought(bench: Bench) -> None:
    """The list has been read and its page is open."""
    bench.open("/import")
    bench.page.get_by_label("Or its rows, pasted").fill(LIST)
    bench.press("Read it")
    expect(bench.page.locator("main")).to_contain_text(f"{ROWS} rows of pasted text were read")


def typed(bench: Bench) -> dict[str, str]:
    boxes: Callable[[str], str] = lambda name: bench.page.locator(f'[name="{name}"]').input_value()  # noqa: E731
    return {name: boxes(name) for name in ("packet_seeds", "leave_out", "kinds[0]")}


def test_what_is_typed_while_an_answer_is_slow_is_there_afterwards(bench: Bench) -> None:
    page = bench.page
    brought(bench)
    slow = Slow(bench, "/import$")
    page.locator('[name="packet_seeds"]').press_sequentially("60")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    slow.wait_for(1)
    page.keyboard.type("2, 9-")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    slow.answer(0)
    expect(page.locator("#answer")).to_contain_text("by estimate of 60 seeds")
    assert typed(bench)["leave_out"] == "2, 9-"
    assert bench.focus == ["leave_out", 4 - 1]
    page.keyboard.press("End")
    page.keyboard.type("11")
    page.locator('[name="kinds[0]"]').press_sequentially("turn")
    slow.wait_for(2)
    page.keyboard.type("ip")
    slow.answer(1)
    expect(page.locator("#answer")).to_contain_text("Left out.")
    assert typed(bench) == {"packet_seeds": "60", "leave_out": "2, 9-11", "kinds[0]": "turnip"}
    assert bench.focus == ["kinds[0]", 6]
    bench.shoot("own-list")
    page.unroute_all()
    page.keyboard.press("Tab")
    expect(page.locator("#answer")).to_contain_text("196 lots are made")
    bench.press("Take these in")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.locator("main")).to_contain_text("196 lots are here that were made of rows")
    bench.open("/find?words=Invented+50")
    lot = page.locator("#answer .sheets > li", has_text="Invented 50 turnip")
    expect(lot).to_contain_text("30 seeds")


def test_an_answer_that_comes_late_is_passed_over(phone: Bench) -> None:
    page = phone.page
    brought(phone)
    slow = Slow(phone, "/import$")
    page.locator('[name="packet_seeds"]').fill("60")
    page.locator('[name="packet_seeds"]').blur()
    slow.wait_for(1)
    page.locator('[name="packet_seeds"]').fill("80")
    page.locator('[name="packet_seeds"]').blur()
    slow.wait_for(2)
    slow.answer(1)
    expect(page.locator("#answer")).to_contain_text("by estimate of 80 seeds")
    slow.answer(0)
    expect(page.locator("#answer")).to_contain_text("by estimate of 80 seeds")
    assert typed(phone)["packet_seeds"] == "80"


def test_a_new_question_comes_after_the_boxes_that_are_being_filled(phone: Bench) -> None:
    page = phone.page
    brought(phone)
    slow = Slow(phone, "/import$")
    page.get_by_label("Crop", exact=True).select_option("notes")
    page.get_by_label("Heap", exact=True).select_option("kind")
    slow.wait_for(2)
    page.locator('[name="kinds[0]"]').press_sequentially("tur")
    slow.answer(1)
    asked = page.get_by_role("group", name="What kind of plant is “oddroot”?")
    expect(asked).to_be_visible()
    assert phone.focus == ["kinds[0]", 3]
    page.unroute_all()
    page.keyboard.type("nip")
    asked.get_by_label("or another kind").press_sequentially("carrot")
    page.keyboard.press("Tab")
    expect(page.locator("#answer")).to_contain_text(f"{ROWS} lots are made")
    assert typed(phone)["kinds[0]"] == "turnip"


def test_a_fault_is_told_beside_its_box_and_goes_once_it_is_mended(phone: Bench) -> None:
    page = phone.page
    brought(phone)
    box = page.locator('[name="packet_seeds"]')
    box.fill("many")
    box.blur()
    expect(page.locator("#packet_seeds-error")).to_be_visible()
    expect(box).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#answer")).to_contain_text("Invented 50")
    phone.faults.clear()  # Chromium tells of the 422
    page.get_by_label("Heap", exact=True).select_option("kind")
    expect(page.locator("#faults")).to_contain_text("Let one column be the kind of plant")
    phone.faults.clear()
    page.get_by_label("Heap", exact=True).select_option("notes")
    box.fill("60")
    box.blur()
    expect(page.locator("#answer")).to_contain_text("by estimate of 60 seeds")
    expect(page.locator("#packet_seeds-error")).to_have_count(0)
    expect(page.locator("#faults")).to_be_empty()
    assert box.get_attribute("aria-invalid") is None
    phone.faults.clear()


def test_where_the_server_cannot_be_reached_it_is_said_and_what_is_typed_stays(
    phone: Bench,
) -> None:
    page = phone.page
    brought(phone)
    page.route(re.compile("/import$"), lambda route: route.abort())
    page.locator('[name="leave_out"]').fill("2")
    page.locator('[name="packet_seeds"]').fill("60")
    page.locator('[name="packet_seeds"]').blur()
    expect(page.get_by_text("couldn’t be read again")).to_be_visible()
    page.unroute_all()
    phone.press("Read it again so")
    expect(page.locator("#answer")).to_contain_text("by estimate of 60 seeds")
    assert (typed(phone)["packet_seeds"], typed(phone)["leave_out"]) == ("60", "2")
    phone.faults.clear()


def test_what_is_asked_once_for_all_rows_stands_there_once_however_often_it_is_read(
    phone: Bench,
) -> None:
    page = phone.page
    phone.open("/import")
    text = "Crop,Variety,Year\ncarrot,Dusk Finger,2009-10\n,Low Lantern,2020\n"
    page.get_by_label("Or its rows, pasted").fill(text)
    phone.press("Read it")
    asked = {"short_dates": "years", "blank_kinds": "as-above"}
    for seeds in (60, 80):
        page.locator('[name="packet_seeds"]').fill(f"{seeds}")
        with page.expect_response(re.compile("/import$")):
            page.locator('[name="packet_seeds"]').blur()
        expect(page.locator("[aria-busy=true]")).to_have_count(0)
        for name in asked:
            expect(page.locator(f'[name="{name}"]')).to_have_count(1)
    expect(page.locator("[id$=_kinds-asked] .warning, [id$=_dates-asked] .warning")).to_have_count(
        2
    )
    page.locator('[name="short_dates"]').select_option("years")
    expect(page.locator("#answer")).to_contain_text("harvest of 2009, a guess")
    page.locator('[name="blank_kinds"]').select_option("as-above")
    expect(page.locator("#answer")).to_contain_text("2 lots are made")
    expect(page.locator("[id$=_kinds-asked] .warning, [id$=_dates-asked] .warning")).to_have_count(
        0
    )
    for name, chosen in asked.items():
        expect(page.locator(f'[name="{name}"]')).to_have_value(chosen)


@pytest.mark.parametrize("by", ["script", "form"])
def test_with_and_without_script_the_same_is_read(
    by: str, phone: Bench, plain_bench: Bench
) -> None:
    digests = []
    for bench in (phone, plain_bench):
        page = bench.page
        brought(bench)
        for name, text in (
            ("packet_seeds", "60"),
            ("leave_out", "2, 9-11"),
            ("kinds[0]", "turnip"),
        ):
            page.locator(f'[name="{name}"]').fill(text)
        page.locator('[name="kinds[0]"]').blur()
        if bench is plain_bench or by == "form":
            bench.press("Read it again so")
        expect(page.locator("#answer")).to_contain_text("196 lots are made")
        digests.append(page.locator('[name="digest"]').get_attribute("value"))
        assert typed(bench) == {
            "packet_seeds": "60", "leave_out": "2, 9-11", "kinds[0]": "turnip",
        }  # fmt: skip
    assert digests[0] == digests[1]
