"""Labels, lists, days and pictures asked for as a browser without script would."""

from datetime import date
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from fastapi.testclient import TestClient
from icalendar import Calendar

from seedbank.access.pages.enter import TOKEN_COOKIE
from seedbank.server.app import create_server
from seedbank.settings import Settings
from tests.pages.conftest import DEMO_DAY, Visitor


def read(data: bytes) -> pypdfium2.PdfDocument:
    assert data.startswith(b"%PDF-")
    return pypdfium2.PdfDocument(BytesIO(data))


def first_lots(visitor: Visitor, words: str) -> list[str]:
    page = visitor.get(f"/labels?words={words}")
    return [str(box["value"]) for box in page.soup.select('input[name="lot"]')]


def test_a_lots_own_label_is_two_steps_away_and_its_code_opens_its_page(visitor: Visitor) -> None:
    code = first_lots(visitor, "carrot")[0]
    page = visitor.get(f"/labels?lot={code}")
    ticked = [str(box["value"]) for box in page.soup.select('input[name="lot"][checked]')]
    assert ticked == [code]
    response = visitor.client.get("/labels.pdf", params={"lot": code, "layout": "single-62x29"})
    assert response.headers["content-type"] == "application/pdf"
    document = read(response.content)
    codes = zxingcpp.read_barcodes(document[0].render(scale=300 / 72).to_pil())
    assert [one.text for one in codes] == [f"http://127.0.0.1:8000/lot/{code}"]
    assert visitor.get(codes[0].text.removeprefix("http://127.0.0.1:8000")).status == 200


def test_lots_found_are_ticked_and_all_of_them_can_be_printed(visitor: Visitor) -> None:
    page = visitor.get("/labels?words=pea")
    boxes = page.soup.select('input[name="lot"]')
    assert boxes
    assert all(box.has_attr("checked") for box in boxes)
    asked = {"words": "pea", "all": "yes", "layout": "a4-3x7", "copies": "2", "start": "5"}
    document = read(visitor.client.get("/labels.pdf", params=asked).content)
    assert len(document) == -(-(4 + 2 * len(boxes)) // 21)


@pytest.mark.parametrize(
    ("asked", "field", "said"),
    [
        ({"start": "22"}, "start", "This paper has 21 labels a page."),
        ({"start": "x"}, "start", "whole number"),
        ({"copies": "0"}, "copies", "1 or more"),
        ({"copies": "51"}, "copies", "50 or less"),
        ({"layout": "<b>"}, "layout", "Choose one of the papers listed."),
    ],
)
def test_what_the_printer_cannot_do_is_said_beside_the_field(
    visitor: Visitor, asked: dict[str, str], field: str, said: str
) -> None:
    code = first_lots(visitor, "carrot")[0]
    response = visitor.client.get("/labels.pdf", params={"lot": code, **asked})
    assert response.status_code == 422
    page = Visitor._page(response)
    fault = page.soup.select_one(f"#{field}-error")
    assert fault is not None
    assert said in fault.text
    ticked = [str(box["value"]) for box in page.soup.select('input[name="lot"][checked]')]
    assert code in ticked  # the choice isn't lost


def test_an_address_no_phone_can_reach_is_warned_of_before_printing(visitor: Visitor) -> None:
    assert "which opens on this computer alone" in visitor.get("/labels").text
    assert "at http://127.0.0.1:8000." in visitor.get("/labels").text


def test_codes_lead_to_the_address_that_is_set(garden_url: str) -> None:
    base = "http://192.168.1.20:8000"
    settings = Settings(database_url=garden_url, today=DEMO_DAY, base_url=base)
    app = create_server(settings)
    with TestClient(app, "http://127.0.0.1:8000") as client:
        visitor = Visitor(app, client)
        assert "which opens on this computer alone" not in visitor.get("/labels").text
        code = first_lots(visitor, "carrot")[0]
        document = read(client.get("/labels.pdf", params={"lot": code}).content)
        assert b"http://192.168.1.20:8000/lot/" in client.get("/dates.ics").content
    codes = zxingcpp.read_barcodes(document[0].render(scale=300 / 72).to_pil())
    assert [one.text for one in codes] == [f"{base}/lot/{code}"]
    app.state.wiring.writing.kw["bind"].dispose()


def test_no_lot_ticked_and_no_such_lot_are_said(visitor: Visitor) -> None:
    page = Visitor._page(visitor.client.get("/labels.pdf"))
    assert (page.status, "Tick the lots to label" in page.text) == (422, True)
    page = Visitor._page(visitor.client.get("/labels.pdf?lot=%3Cscript%3E"))
    assert page.status == 422
    assert not page.soup.select("main script")


@pytest.mark.parametrize("name", ["test", "save", "last-chance"])
def test_a_list_is_printed_on_the_paper_chosen(visitor: Visitor, name: str) -> None:
    page = visitor.get("/lists")
    assert name in [str(one["value"]) for one in page.soup.select('input[name="name"]')]
    asked = {"name": name, "paper": "US Letter"}
    document = read(visitor.client.get("/lists.pdf", params=asked).content)
    assert document[0].get_width() == pytest.approx(612, abs=0.5)
    assert "As of 20 Feb 2027" in document[0].get_textpage().get_text_range()


def test_a_list_or_paper_there_isnt_is_said(visitor: Visitor) -> None:
    assert visitor.get("/lists.pdf?name=x").status == 404
    assert visitor.get("/lists.pdf?name=test&paper=B5").status == 422


def test_the_days_page_and_the_feed_tell_the_same(visitor: Visitor) -> None:
    page = visitor.get("/dates")
    parts = [[link.text for link in part.select("a")] for part in page.soup.select(".sheets")]
    titles = [title for part in parts for title in part]
    response = visitor.client.get("/dates.ics")
    assert response.headers["content-type"] == "text/calendar; charset=utf-8"
    events = Calendar.from_ical(response.content).walk("VEVENT")
    told = [str(event["summary"]) for event in events]
    assert sorted(told) == sorted(titles)
    for part in parts:  # of packets and crops, then of kinds: each in the feed's order
        rest = iter(told)
        assert all(title in rest for title in part)
    assert len(titles) > 5
    links = {link["href"] for link in page.soup.select(".sheets a")}
    assert all(visitor.get(str(address)).status == 200 for address in links)
    assert "webcal://127.0.0.1:8000/dates.ics" in str(page.soup)
    assert events[0].decoded("dtstart") <= date(2027, 2, 20)


def test_where_tokens_are_asked_for_the_page_says_how_a_calendar_shows_one(
    visitor: Visitor,
) -> None:
    visitor.client.cookies.set(TOKEN_COOKIE, "a-secret-of-the-browser")
    page = visitor.client.get("/dates").text
    assert "/dates.ics?token=…" in page
    assert "webcal:" not in page
    assert "a-secret-of-the-browser" not in page


def test_pictures_of_the_record_stand_in_the_page_itself(visitor: Visitor) -> None:
    figures = visitor.get("/record").soup.select("figure")
    assert [bool(one.select("svg[role=img]")) for one in figures] == [True, True]
    assert all(one.select("table") for one in figures)
