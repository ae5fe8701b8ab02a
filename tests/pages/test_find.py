"""Finding a lot, by typing or by its whole code."""

import pytest

from tests.pages.conftest import Page, Visitor


def names(page: Page) -> list[str]:
    return [one.text for one in page.soup.select("#answer .sheets > li > a")]


def test_lots_are_found_by_variety_kind_and_word(visitor: Visitor) -> None:
    page = visitor.send(visitor.get("/find"), "/find", words="crakemoor tall")
    assert page.status == 200
    assert names(page) == ["Crakemoor Tall"] * 4
    assert "% alive" in page.text
    beans = visitor.get("/find?words=broad+bean")
    assert set(names(beans)) == {"Wennabeck Speckle", "Skirrow Dusk"}


@pytest.mark.parametrize("typed", ["26YPM", "26ypm", " 26-y pm"])
def test_a_whole_code_goes_straight_to_its_lot(visitor: Visitor, typed: str) -> None:
    answer = visitor.client.get("/find", params={"words": typed}, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/lot/26YPM")


def test_while_a_code_is_typed_the_list_stays_a_list(visitor: Visitor) -> None:
    answer = visitor.client.get("/find?words=26YPM", headers={"X-Requested-With": "fetch"})
    assert answer.status_code == 200
    assert names(visitor._page(answer)) == ["Crakemoor Tall"]


def test_a_code_nearly_right_offers_the_lots_it_may_mean(visitor: Visitor) -> None:
    page = visitor.get("/find?words=26YPX")
    assert "26YPM , if the fifth character is wrong" in page.text


def test_every_lot_is_on_one_of_the_pages_once(visitor: Visitor) -> None:
    seen: list[str] = []
    page = visitor.get("/find")
    while True:
        seen += [str(one["href"]) for one in page.soup.select("#answer .sheets > li > a")]
        more = page.soup.select("#answer > p > a.key")
        if not more:
            break
        page = visitor.get(str(more[0]["href"]))
    assert len(seen) == len(set(seen)) == 137  # lots of the demonstration


def test_place_and_advice_narrow_what_is_found_and_stay_chosen(visitor: Visitor) -> None:
    page = visitor.get("/find")
    places = {one.text: one["value"] for one in page.soup.select("#place option")}
    kept = visitor.send(page, "/find", place=places["kitchen drawer"], verdict="grow-for-seed")
    found = kept.soup.select("#answer .sheets > li")
    assert found
    for one in found:
        assert "kitchen drawer" in one.text
        assert "Grow for seed" in one.text
    assert kept.soup.select("#place option[selected]")[0].text == "kitchen drawer"
    assert kept.soup.select("details[open]")


def test_a_misspelt_name_is_taken_for_the_nearest(visitor: Visitor) -> None:
    page = visitor.get("/find?words=brackwin+daple")
    assert "Did you mean one of these?" in page.text
    assert set(names(page)) == {"Brackwin Dapple"}


def test_nothing_found_says_what_to_do(visitor: Visitor) -> None:
    page = visitor.get("/find?words=zzzz")
    assert (page.status, names(page)) == (200, [])
    assert "Try fewer letters" in page.text


@pytest.mark.parametrize(
    ("asked", "status"),
    [("place=99999", 422), ("place=x", 422), ("verdict=eat", 422), ("after=7", 422)],
)
def test_an_address_that_makes_no_sense_is_told_on_a_page(
    visitor: Visitor, asked: str, status: int
) -> None:
    page = visitor.get(f"/find?{asked}")
    assert page.status == status
    assert page.soup.h1 is not None
