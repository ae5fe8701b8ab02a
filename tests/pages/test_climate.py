"""The pages on the garden's climate and on a kind's year."""

from tests.pages.conftest import Visitor


def test_a_climate_is_typed_and_a_kinds_year_follows(visitor: Visitor) -> None:
    assert "weeks" in visitor.get("/kind/carrot/season").text
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    empty = visitor.get("/garden-climate")
    page = visitor.send(empty, "/garden-climate", months=months, last_frost="2027-05-01")
    assert "monthly temperatures" in page.text
    year = visitor.get("/kind/carrot/season").text
    assert "In the open: " in year
    assert "Seed is ripe" in year


def test_what_is_no_climate_is_said_beside_its_field(visitor: Visitor) -> None:
    page = visitor.send(visitor.get("/garden-climate"), "/garden-climate", months="4.5 4.7 warm")
    assert page.status == 422
    assert "not twelve temperatures" in page.text


def test_readings_are_pasted(visitor: Visitor) -> None:
    days = [f"2026-{month:02}-{day:02},{month}" for month in range(1, 13) for day in range(1, 25)]
    csv = "\n".join(["date,mean_c", *days])
    page = visitor.send(visitor.get("/garden-climate"), "/garden-climate/readings", csv=csv)
    assert page.status == 200
    assert "1 2 3 4 5 6 7 8 9 10 11 12" in str(page.soup)
