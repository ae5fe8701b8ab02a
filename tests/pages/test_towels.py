"""The page on which lots to towel."""

from tests.pages.conftest import Visitor


def test_lots_to_towel_are_listed_with_what_each_would_change(visitor: Visitor) -> None:
    page = visitor.get("/towels")
    assert page.status == 200
    lots = page.soup.select("ol.sheets > li")
    assert 1 <= len(lots) <= 10
    for one in lots:
        said = " ".join(one.get_text(" ").split())
        assert "Towel " in said
        assert "The chance that the count changes what you do" in said
        assert one.select('a[href$="/test"]')
    assert len(visitor.get("/towels?towels=2").soup.select("ol.sheets > li")) == 2


def test_work_that_cannot_be_is_said_beside_its_field(visitor: Visitor) -> None:
    page = visitor.get("/towels?evenings=0")
    assert page.status == 422
    assert page.soup.select("#evenings-error, [id$=evenings-error]")
