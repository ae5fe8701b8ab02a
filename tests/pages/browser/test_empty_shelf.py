"""A collection without a lot, as a phone shows it: readable, and two taps from the first packet."""

from playwright.sync_api import Browser, expect

from tests.pages.browser.conftest import PHONE, _bench, serving
from tests.pages.browser.test_every_page import is_readable_and_still
from tests.pages.test_empty_shelf import EMPTY, SPEAK_OF_LOTS


def test_every_page_of_an_empty_collection_is_readable_and_leads_on(
    chromium: Browser, database_url: str
) -> None:
    with (
        serving(database_url) as address,
        _bench(chromium, address, PHONE, has_touch=True) as phone,
    ):
        for one in SPEAK_OF_LOTS:
            phone.open(one)
            expect(phone.page.get_by_text(EMPTY)).to_be_in_viewport()
            is_readable_and_still(phone)
            phone.shoot(f"empty{one.replace('/', '-').replace('?', '-')}")
        for way, heading in (
            ("Bring a list you have", "Bring in your own list"),
            ("Add a packet", "Add a packet"),
        ):
            phone.open("/")
            phone.page.locator("main").get_by_role("link", name=way).click()
            expect(phone.page.get_by_role("heading", level=1)).to_contain_text(heading)
