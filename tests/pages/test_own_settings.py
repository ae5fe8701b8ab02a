"""A reader's own units and dates, kept in their browser alone."""

from tests.pages.conftest import Visitor


def test_units_and_dates_are_kept_in_the_readers_own_browser(visitor: Visitor) -> None:
    page = visitor.get("/settings")
    assert held_choice(page.soup, "units") == "metric"
    kept = visitor.send(page, "/settings", units="us", dates="iso")
    assert (kept.status, kept.address) == (200, "/settings")
    assert held_choice(kept.soup, "units") == "us"
    assert held_choice(kept.soup, "dates") == "iso"


def test_a_unit_nobody_offered_is_refused_on_a_page(visitor: Visitor) -> None:
    answer = visitor.send(visitor.get("/settings"), "/settings", units="<b>furlongs</b>")
    assert answer.status == 422
    assert "Units can't be <b>furlongs</b>." in answer.text
    assert answer.soup.select("main b") == []


def test_an_address_that_leads_nowhere_is_a_page_for_a_browser_only(visitor: Visitor) -> None:
    page = visitor.get("/nowhere")
    assert (page.status, page.soup.h1.text if page.soup.h1 else "") == (404, "Not found")
    answer = visitor.client.get("/nowhere", headers={"Accept": "application/json"})
    assert answer.headers["content-type"] == "application/problem+json"


def held_choice(soup: object, name: str) -> object:
    [chosen] = soup.select(f"input[name={name}][checked]")  # type: ignore[attr-defined]  # a soup
    return chosen["value"]
