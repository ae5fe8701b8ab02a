"""Paper and calendar from the front page: labels a phone can scan, lists, a feed that parses."""

from io import BytesIO
from urllib.parse import urlsplit

import pypdfium2
import zxingcpp
from icalendar import Calendar
from playwright.sync_api import Locator, Page, expect

from tests.pages.browser.conftest import Bench


def printed(page: Page, form: Locator) -> bytes:
    """The PDF that a form's key asks for; Chromium's own reader of PDF is left out of it."""
    page.route("**/*.pdf?*", lambda route: route.fulfill(status=204))
    with page.expect_request("**/*.pdf?*") as pressed:
        form.get_by_role("button").last.click()
    answer = page.context.request.get(pressed.value.url)
    assert answer.status == 200
    assert answer.headers["content-type"] == "application/pdf"
    return answer.body()


def test_a_printed_labels_code_opens_the_lots_page(bench: Bench) -> None:
    bench.start(find="26YPM")
    page = bench.page
    bench.press("Print label")
    bench.reached("Labels for packets")
    expect(page.get_by_role("checkbox", name="Crakemoor Tall")).to_be_checked()
    bench.shoot("job-label")
    document = pypdfium2.PdfDocument(BytesIO(printed(page, page.locator("form").last)))
    assert len(document) == 1
    words = " ".join(document[0].get_textpage().get_text_range().split())
    assert "Crakemoor Tall" in words
    assert "26YPM" in words
    assert "2025" in words
    codes = zxingcpp.read_barcodes(document[0].render(scale=4).to_pil())
    document.close()
    assert [one.text for one in codes] == [f"{bench.root}/lot/26YPM"]
    page.goto(codes[0].text)  # what a phone's camera does
    expect(page.get_by_role("heading", level=1)).to_contain_text("Crakemoor Tall")


def test_labels_of_all_that_is_found_and_a_seasons_list_are_printed(phone: Bench) -> None:
    phone.start()
    page = phone.page
    phone.press("More")
    phone.press("Labels")
    phone.reached("Labels for packets")
    page.locator("main").get_by_role("searchbox").fill("carrot")
    phone.press("Find lots")
    expect(page.get_by_role("checkbox", checked=True)).to_have_count(6)
    document = pypdfium2.PdfDocument(BytesIO(printed(page, page.locator("form").last)))
    codes = zxingcpp.read_barcodes(document[0].render(scale=4).to_pil())
    document.close()
    carrots = {one["code"] for one in phone.record("/lots?q=carrot")["items"]}
    labelled = {urlsplit(one.text).path.removeprefix("/lot/") for one in codes}
    assert len(labelled) == 6
    assert labelled <= carrots

    phone.start()
    phone.press("More")
    phone.press("Lists to print")
    phone.reached("Lists to print")
    page.get_by_label("To test").check()
    phone.shoot("job-lists")
    document = pypdfium2.PdfDocument(BytesIO(printed(page, page.locator("form").last)))
    words = " ".join(one.get_textpage().get_text_range() for one in document)
    document.close()
    worth = phone.record("/verdicts?verdict=towel-first&limit=100")["items"]
    for one in worth:
        assert one["lot"] in words


def test_the_days_to_come_are_subscribed_to(bench: Bench) -> None:
    bench.start()
    page = bench.page
    bench.press("More")
    bench.press("Days to come")
    bench.reached("Days to come")
    bench.shoot("job-dates")
    link = page.get_by_role("link", name="Keep them in this phone’s calendar")
    subscribed = link.get_attribute("href") or ""
    assert subscribed.startswith("webcal://")
    answer = page.context.request.get(subscribed.replace("webcal://", "http://"))
    assert answer.headers["content-type"].startswith("text/calendar")
    feed = Calendar.from_ical(answer.body())
    told = {str(event["summary"]) for event in feed.walk("VEVENT")}
    shown = set(page.locator(".sheets > li > a").all_inner_texts())
    assert shown
    assert shown <= told
    for sort in ("First count", "Final count", "Test", "Keep apart"):
        assert any(title.startswith(sort) for title in told), sort
