"""Seed given away, thrown out, put in, counted and moved, each with its way back."""

import pytest

from tests.pages.conftest import Visitor
from tests.pages.lot_pages import error_of, seeds_left, undo

GIVE = "/lot/26YPM/give"


def test_seed_given_away_is_booked_told_and_undone(visitor: Visitor) -> None:
    page = visitor.get(GIVE)
    assert "It holds 460 seeds" in page.text
    done = visitor.send(page, GIVE, amount__seeds=30, note="the <b>neighbour</b>")
    assert (done.status, done.address) == (200, "/lot/26YPM")
    told = done.soup.select("div.done")[0]
    assert "30 seeds given away" in told.text
    assert "430 left" in told.text
    assert "the <b>neighbour</b>" in told.text
    assert told.select("a[href='/lots/26YPM/passport?seeds=30']")
    back = undo(visitor, told.select("form")[0])
    assert "30 seeds put back: change 2 was undone" in back.soup.select("div.done")[0].text
    assert seeds_left(visitor, "26YPM") == 460


def test_a_form_sent_twice_is_booked_once(visitor: Visitor) -> None:
    page = visitor.get(GIVE)
    first = visitor.send(page, GIVE, amount__seeds=30)
    second = visitor.send(page, GIVE, amount__seeds=30)
    assert first.address == second.address
    assert seeds_left(visitor, "26YPM") == 430
    other = visitor.send(page, GIVE, amount__seeds=31)
    assert other.status == 422
    assert "sent before with other values" in other.text
    assert seeds_left(visitor, "26YPM") == 430


def test_grams_are_turned_into_seeds(visitor: Visitor) -> None:
    before = seeds_left(visitor, "26YPM")
    visitor.send(visitor.get(GIVE), GIVE, amount__grams="5,5")
    assert 0 < seeds_left(visitor, "26YPM") < before


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"amount.seeds": "461"}, "amount-seeds", "460 or fewer"),
        ({"amount.seeds": "many"}, "amount-seeds", "whole number"),
        ({"amount.seeds": "3", "on_date": "2027-02-21"}, "on_date", "or an earlier day"),
        ({"amount.seeds": "3", "note": "x" * 401}, "note", "400 characters"),
    ],
)
def test_a_fault_is_told_beside_its_field_and_nothing_is_booked(
    visitor: Visitor, typed: dict[str, str], field: str, said: str
) -> None:
    page = visitor.send_fields(visitor.get(GIVE), GIVE, typed)
    assert page.status in (409, 422)
    assert said in error_of(page, field)
    assert page.soup.select(f"#{field}")[0]["value"] == typed[list(typed)[-1]]
    assert seeds_left(visitor, "26YPM") == 460


def test_neither_seeds_nor_grams_says_so(visitor: Visitor) -> None:
    for typed in ({}, {"amount.seeds": "1", "amount.grams": "2"}):
        page = visitor.send_fields(visitor.get(GIVE), GIVE, typed)
        assert page.status == 422
        assert page.soup.select(".error")
        assert seeds_left(visitor, "26YPM") == 460


def test_what_would_be_left_is_told_before_it_is_given(visitor: Visitor) -> None:
    page = visitor.get(f"{GIVE}?amount.seeds=450")
    answer = page.soup.select("#answer")[0].text
    assert "that leaves 10" in answer
    assert "under the reserve" not in answer  # two other lots hold more than it
    short = visitor.get("/lot/26YPM/give?amount.seeds=461")
    assert short.status == 422
    assert "460 or fewer" in short.soup.select("#answer")[0].text
    low = visitor.get("/lot/R7146/give?amount.seeds=5")
    assert "under the reserve of 150" in low.soup.select("#answer")[0].text


def test_giving_shows_cautions_of_moving_and_selling_and_of_treated_seed(
    visitor: Visitor,
) -> None:
    page = visitor.get("/lot/92H6X/give")
    assert "treated" in page.soup.select(".caution")[0].text.lower()
    assert page.soup.select("details .caution")


def test_seed_thrown_out_and_put_in_changes_what_is_left(visitor: Visitor) -> None:
    out = visitor.send(visitor.get("/lot/26YPM/discard"), "/lot/26YPM/discard", amount__seeds=60)
    assert "60 seeds thrown out" in out.text
    into = visitor.send(visitor.get("/lot/26YPM/receive"), "/lot/26YPM/receive", amount__seeds=10)
    assert "10 seeds harvested" in into.text
    assert seeds_left(visitor, "26YPM") == 410


def test_a_count_is_booked_as_the_difference(visitor: Visitor) -> None:
    page = visitor.get("/lot/26YPM/count")
    done = visitor.send(page, "/lot/26YPM/count", seeds=400, seeds_se=20)
    assert "Counted: 400 seeds, 60 fewer than on record" in done.text
    assert done.soup.select("#amount")[0].text.startswith("400 seeds (± 20)")
    empty = visitor.send(visitor.get("/lot/26YPM/count"), "/lot/26YPM/count", seeds=0)
    assert empty.soup.select("#amount")[0].text == "None is left."
    fault = visitor.send(visitor.get("/lot/26YPM/count"), "/lot/26YPM/count", seeds=-1)
    assert fault.status == 422
    assert "0 or more" in error_of(fault, "seeds")


def test_a_lot_is_moved_to_a_listed_or_a_new_place(visitor: Visitor) -> None:
    page = visitor.get("/lot/26YPM/move")
    places = {one.text: one["value"] for one in page.soup.select("#place_id option")}
    moved = visitor.send(page, "/lot/26YPM/move", place_id=places["cellar"])
    assert "cellar , since February 2027" in moved.text
    new = {"new_place.name": "Blue tin", "new_place.temp_winter_c": "4", "new_place.sealed": "yes"}
    there = visitor.send_fields(visitor.get("/lot/26YPM/move"), "/lot/26YPM/move", new)
    assert "Blue tin" in there.soup.select("#kept")[0].text
    again = visitor.send_fields(visitor.get("/lot/PR0K9/move"), "/lot/PR0K9/move", new)
    assert again.status == 409
    assert "There already is a place" in error_of(again, "new_place-name")
    nowhere = visitor.send(visitor.get("/lot/PR0K9/move"), "/lot/PR0K9/move")
    assert nowhere.status == 422
    assert "choose the place it goes to" in nowhere.text.lower()


def test_a_jar_is_sealed_anew_by_one_of_its_lots(visitor: Visitor) -> None:
    body = {"name": "Preserving jar", "sealed": True}
    jar = visitor.client.post("/places", json=body, headers={"Idempotency-Key": "jar"}).json()["id"]
    address = "/lot/YMY4K/move"
    typed = {"place_id": jar, "from_date": "2027-02-01"}
    visitor.send_fields(visitor.get(address), address, typed)
    again = typed | {"from_date": "2027-02-10", "sealed_anew": "yes"}
    visitor.send_fields(visitor.get(address), address, again)
    assert "Preserving jar: 10 Feb 2027 to now (sealed anew)" in visitor.get(address).text
    shelf = typed | {"place_id": 1, "from_date": "2027-02-11", "sealed_anew": "yes"}
    refused = visitor.send_fields(visitor.get(address), address, shelf)
    assert refused.status == 422
    assert "is not a sealed place" in refused.text
