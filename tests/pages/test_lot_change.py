"""A lot described better, and two people at it at once."""

from tests.pages.conftest import Visitor
from tests.pages.lot_pages import error_of

CHANGE = "/lot/26YPM/change"


def test_only_what_was_changed_is_changed(visitor: Visitor) -> None:
    before = visitor.client.get("/lots/26YPM").json()
    done = visitor.send(
        visitor.get(CHANGE), CHANGE, notes="first line\r\nsecond <i>line</i>", treated="yes"
    )
    assert (done.status, done.address) == (200, "/lot/26YPM")
    assert "second <i>line</i>" in done.text
    after = visitor.client.get("/lots/26YPM").json()
    changed = {name for name in after if after[name] != before[name]}
    assert changed == {"notes", "treated", "version", "cautions", "sources"}
    assert after["notes"] == "first line\nsecond <i>line</i>"


def test_a_field_emptied_is_unknown_again(visitor: Visitor) -> None:
    page = visitor.get(CHANGE)
    assert page.soup.select("#seed_parents")[0]["value"] != ""
    visitor.send(page, CHANGE, seed_parents="", parents="", notes="", purity_note="")
    after = visitor.client.get("/lots/26YPM").json()
    assert (after["seed_parents"], after["parents"], after["notes"]) == (None, [], "")


def test_someone_elses_change_is_told_and_not_written_over(visitor: Visitor) -> None:
    mine, theirs = visitor.get(CHANGE), visitor.get(CHANGE)
    visitor.send(theirs, CHANGE, notes="theirs", donor="the shop")
    refused = visitor.send(mine, CHANGE, notes="mine")
    assert refused.status == 412
    assert "Someone changed this" in refused.text
    assert refused.soup.select("#notes")[0].text == "mine"
    assert "On record now: theirs" in refused.text
    assert refused.soup.select("#donor")[0]["value"] == "the shop"
    assert visitor.client.get("/lots/26YPM").json()["notes"] == "theirs"
    done = visitor.send(refused, CHANGE)
    assert done.status == 200
    after = visitor.client.get("/lots/26YPM").json()
    assert (after["notes"], after["donor"]) == ("mine", "the shop")


def test_a_fault_stands_beside_its_field(visitor: Visitor) -> None:
    page = visitor.send(visitor.get(CHANGE), CHANGE, harvest_year="2030")
    assert page.status == 422
    told = error_of(page, "harvest_year")
    assert told == "The year and the day of harvest name different years. " + (
        "Give 2025, or clear the day of harvest."
    )
    page = visitor.send(visitor.get(CHANGE), CHANGE, parents="26YPX")
    assert page.status == 422
    assert "character is wrong" in page.text
