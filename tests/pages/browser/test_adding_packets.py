"""Packets added one after another: few taps for the first, fewer for the next."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from tests.pages.browser.conftest import DESK, PHONE, Bench, _bench, serving


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def empty(request: Any, chromium: Browser, tmp_path: Path) -> Iterator[Bench]:
    """A collection with nothing in it yet."""
    with (
        serving(f"sqlite:///{tmp_path / 'empty.sqlite'}") as address,
        _bench(chromium, address, request.param, has_touch=request.param == PHONE) as bench,
    ):
        yield bench


def test_the_first_packet_takes_six_taps_at_most_and_the_next_three(empty: Bench) -> None:
    empty.start()
    page = empty.page
    empty.tap(page.locator("a[href='/take-in']:visible").first)
    page.get_by_label("What is it?").fill("zucchini")
    page.get_by_label("Its name").fill("Sorrowick Striped")
    expect(page.locator("#got")).to_contain_text("Zucchini")
    empty.tap(page.get_by_text("None", exact=True))
    empty.shoot("add-first")
    empty.tap(page.get_by_role("button", name="Save, next packet"))
    expect(page.get_by_text("Added so far: 1")).to_be_visible()
    assert empty.taps <= 6
    empty.taps = 0
    page.get_by_label("What is it?").fill("carrot")
    page.get_by_label("Its name").fill("Dusk Finger")
    empty.tap(page.get_by_role("button", name="Save, next packet"))
    expect(page.get_by_text("Added so far: 2")).to_be_visible()
    empty.shoot("add-next")
    assert empty.taps <= 3
    lots = {one["variety"]["name"]: one["code"] for one in empty.record("/lots")["items"]}
    assert set(lots) == {"Sorrowick Striped", "Dusk Finger"}
    page.get_by_role("button", name="Undo Dusk Finger").click()
    expect(page.get_by_text("Added so far: 1")).to_be_visible()
    assert empty.record(f"/lots/{lots['Dusk Finger']}")["amount"]["seeds"] == 0


def test_what_a_kind_is_taken_for_is_told_while_typing_and_chosen_by_a_chip(phone: Bench) -> None:
    phone.open("/take-in")
    page = phone.page
    page.get_by_label("What is it?").fill("squash")
    page.get_by_label("Its name").fill("Hobbelton Round")
    page.get_by_role("button", name="Winter squash").click()
    expect(page.get_by_label("What is it?")).to_have_value("winter squash (maxima)")
    expect(page.get_by_label("Its name")).to_have_value("Hobbelton Round")
    expect(page.get_by_text("Wrong? Change it")).to_be_visible()
    page.get_by_label("What is it?").fill("onion")
    page.get_by_label("Its name").fill("Tall spring")
    page.get_by_label("Its name").blur()
    expect(page.locator("#got")).to_contain_text("since its name or note says so")
    page.get_by_role("button", name="Wrong? It is onion").click()
    expect(page.locator("#got")).not_to_contain_text("since its name")
    phone.shoot("add-kind")
