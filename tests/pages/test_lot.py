"""The lot at the bench."""

import pytest

from tests.pages.conftest import Visitor


def test_the_page_says_what_how_much_where_and_how_alive_it_is(visitor: Visitor) -> None:
    page = visitor.get("/lot/PR0K9")
    assert page.status == 200
    assert page.soup.h1 is not None
    assert "Yaffelby Thimble" in page.soup.h1.text
    for said in (
        "152 seeds, 38 g",
        "Kept in: fridge, sealed jars",
        "harvested 7 Sept 2020",
        "% alive",
    ):
        assert said in page.text
    assert "saved here" in page.text
    assert len(page.soup.select("ul.pedigree li")) == 2
    picture = page.soup.select("figure img")[0]
    assert all(picture.get(name) for name in ("src", "alt", "width", "height"))
    assert len(page.soup.select("figure details tbody tr")) > 5


def test_every_key_leads_to_a_page(visitor: Visitor) -> None:
    page = visitor.get("/lot/PR0K9")
    keys = [str(one["href"]) for one in page.soup.select("nav.keys a")]
    assert len(keys) == 7
    for key in keys:
        assert visitor.get(key).status == 200, key


def test_a_treated_lot_warns_first(visitor: Visitor) -> None:
    page = visitor.get("/lot/92H6X")
    assert page.soup.select(".caution")[0].text.startswith("Caution.")
    assert "treated" in page.soup.select(".caution")[0].text.lower()


def test_however_the_code_is_typed_there_is_one_address(visitor: Visitor) -> None:
    assert visitor.get("/lot/pr-0k9").address == "/lot/PR0K9"
    answer = visitor.client.get("/lot/pro k9?movement=1", follow_redirects=False)
    assert answer.headers["location"] == "/lot/PR0K9?movement=1"


@pytest.mark.parametrize(
    ("typed", "slip"),
    [
        ("PR1K9", "if the third character is wrong"),
        ("RP0K9", "if the first character and the next have changed places"),
        ("PR09", "if the fourth character is left out"),
    ],
)
def test_a_misread_code_says_which_character_may_be_wrong(
    visitor: Visitor, typed: str, slip: str
) -> None:
    page = visitor.get(f"/lot/{typed}")
    assert page.status == 422
    assert f"PR0K9 , {slip}" in page.text


def test_a_code_of_no_lot_is_not_found(visitor: Visitor) -> None:
    page = visitor.get("/lot/00000000")
    assert page.status == 422
    assert "Read the code on the packet again" in page.text
    assert visitor.get("/lot/PR0K9?movement=999").status == 404


def test_a_packet_of_a_variety_with_other_lots_is_not_called_its_first(visitor: Visitor) -> None:
    assert "the first lot of" not in visitor.get("/lot/PR0K9?movement=1").text
