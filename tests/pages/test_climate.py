"""The pages on the garden's climate and on a kind's year."""

from urllib.parse import urlencode

import pytest

from tests.pages.conftest import Visitor


@pytest.fixture(autouse=True)
def _nothing_told(visitor: Visitor) -> None:
    """The garden of the demonstration as it is before anybody tells its climate."""
    told = visitor.client.put("/climate", json={}, headers={"If-Match": "*"})
    assert (told.status_code, told.json()["known"]) == (200, "nothing")


def test_a_climate_is_typed_and_a_kinds_year_follows(visitor: Visitor) -> None:
    assert "weeks" in visitor.get("/kind/carrot/season").text
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    empty = visitor.get("/garden-climate")
    page = visitor.send(empty, "/garden-climate", months=months, last_frost="2027-05-01")
    assert "monthly temperatures" in page.text
    year = visitor.get("/kind/carrot/season").text
    assert "In the open: " in year
    assert "Seed is ripe" in year


def test_a_kinds_year_is_a_picture_once_the_climate_is_known(visitor: Visitor) -> None:
    assert not visitor.get("/kind/carrot/season").soup.select("figure")
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    visitor.send(visitor.get("/garden-climate"), "/garden-climate", months=months)
    (drawn,) = visitor.get("/kind/carrot/season").soup.select("figure")
    names = [one.text for one in drawn.select(".crop b")]
    assert (names[0], names[-1]) == ("In the open", "Seed ripe")
    assert len(drawn.select(".crop > svg")) == len(names)


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


def test_a_site_has_a_climate_of_its_own(visitor: Visitor) -> None:
    garden = visitor.get("/garden-climate")
    address = garden.soup.select('a[href^="/garden-climate?site="]')[0]["href"]
    site = visitor.get(str(address))
    assert "The climate at " in site.text
    cold = "-4 -3 1 6 11 15 17 16 12 7 2 -2"
    page = visitor.send(site, "/garden-climate", months=cold)
    assert "The climate at " in page.text
    assert "-4 -3 1 6 11" in str(page.soup)
    assert cold not in str(visitor.get("/garden-climate").soup)
    number = str(address).rpartition("=")[2]
    assert "In the open: " in visitor.get(f"/kind/carrot/season?site={number}").text
    assert "In the open: " not in visitor.get("/kind/carrot/season").text
    for wrong in ("/garden-climate?site=9999", "/kind/carrot/season?site=9999"):
        assert visitor.get(wrong).status in (404, 422)
    assert visitor.get("/garden-climate?site=-1").status == 422


def test_a_varietys_page_has_its_year(visitor: Visitor) -> None:
    assert "after the last frost" in visitor.get("/variety/1").text
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    visitor.send(visitor.get("/garden-climate"), "/garden-climate", months=months)
    page = visitor.get("/variety/1").text
    for said in ("Its year here", "In the open: ", "Under fleece: ", "In a tunnel: ", "Dry it "):
        assert said in page


def test_days_to_come_have_windows_that_lead_to_the_kinds_year(visitor: Visitor) -> None:
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    visitor.send(visitor.get("/garden-climate"), "/garden-climate", months=months)
    page = visitor.get("/dates")
    assert "Sow carrot in the open" in page.text
    assert page.soup.select('a[href="/kind/carrot/season"]')
    feed = visitor.client.get("/dates.ics").text
    assert "UID:sowing-window-carrot-open-2027@seedbank" in feed
    assert "UID:ripe-seed-" in feed


def test_a_varietys_season_is_said_and_taken_back_and_moves_its_windows(visitor: Visitor) -> None:
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    visitor.send(visitor.get("/garden-climate"), "/garden-climate", months=months)
    plain = visitor.get("/variety/25")
    early = visitor.send(plain, "/variety/25", season="early")
    assert early.soup.select('option[value="early"][selected]')
    assert window(plain.text) != window(early.text)
    back = visitor.send(early, "/variety/25", season="")
    assert not back.soup.select('option[value="early"][selected]')
    assert window(back.text) == window(plain.text)


def window(said: str) -> str:
    return said.partition("In the open: ")[2].partition(".")[0]


def test_the_year_is_drawn_in_folds_and_each_crop_opens_to_its_reason(visitor: Visitor) -> None:
    assert "Only frost dates" not in visitor.get("/season").text
    assert "No climate is known of this garden" in visitor.get("/season").text
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    visitor.send(visitor.get("/garden-climate"), "/garden-climate", months=months)
    page = visitor.get("/season")
    folds = page.soup.select("figure .when")
    headings = [one.select_one("summary").text.split(" (")[0] for one in folds]  # type: ignore[union-attr]
    assert headings[:2] == ["For seed", "Sow now"]
    assert "Sow in March" in headings
    crops = page.soup.select("figure .crop")
    assert len(crops) > 40
    assert len({one.text for one in crops}) == len(crops)
    for one in crops:
        assert one.select_one("summary svg") is not None
        assert one.select("div p"), one.text  # the reason
        assert one.select_one("div a[href]") is not None
    assert len(page.soup.select("figure table tbody tr")) == len(crops)
    seed, eaten = (visitor.get(f"/season?show={show}") for show in ("seed", "eat"))
    drawn = [len(one.soup.select("figure .crop")) for one in (seed, eaten)]
    assert sum(drawn) == len(crops)
    assert min(drawn) > 1
    assert "keep apart" in str(seed.soup.select_one("figure .cal"))


def test_a_sowing_out_of_season_says_so_in_the_words_of_the_api(visitor: Visitor) -> None:
    months = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"
    visitor.send(visitor.get("/garden-climate"), "/garden-climate", months=months)
    asked = {"plants": 40, "method": "row", "sow_on": "2027-08-10"}
    answer = visitor.client.get("/lots/YMY4K/sowing-advice", params=asked)
    found = str(answer.json()["out_of_season"]["text"])
    page = visitor.get("/lot/YMY4K/sow?was=row&" + urlencode(asked))
    said = [one.text for one in page.soup.select("#answer .warning")]
    assert found.startswith("Too late in the open: under fleece until 2027-08-29; next from ")
    assert found.replace("2027-08-29", "29 Aug 2027").replace("2028-03-17", "17 Mar 2028") in said
