"""A collection without a lot: every page that speaks of lots says so first, and leads on."""

import pytest

from tests.pages.conftest import Visitor

EMPTY = "The collection holds no lots yet."
SPEAK_OF_LOTS = [
    "/", "/find", "/find?words=carrot", "/season", "/season/sow-as-usual", "/season/towel-first",
    "/season/last-chance", "/season/get-fresh", "/season/can-go", "/season/count",
    "/season/running-out", "/supply", "/supply?work=yes", "/plan", "/plan/alongside", "/dates",
    "/record", "/tests", "/sowing", "/labels", "/lists",
]  # fmt: skip
AS_IF_ALL_WERE_WELL = (
    "seed enough", "Nothing needs doing", "running out", "can be kept", "No seed is lacking",
    "No lot is past all use", "No lot is in this list", "nothing of this to do",
    "No two varieties", "Nothing here would make the plan clearly safer",
    "sows nothing for seed", "fewer letters", "find the lot",
)  # fmt: skip


@pytest.mark.parametrize("address", SPEAK_OF_LOTS)
def test_an_empty_collection_is_said_to_be_empty_and_never_in_order(
    bare: Visitor, address: str
) -> None:
    page = bare.get(address)
    assert page.status == 200
    assert page.text.count(EMPTY) == 1
    said = page.soup.select_one("main")
    assert said is not None
    for one in AS_IF_ALL_WERE_WELL:
        assert one not in " ".join(said.get_text(" ").split())
    ways = {a["href"] for a in said.select("section[aria-label='An empty collection'] a")}
    assert ways == {"/import", "/take-in"}
    assert "seedbank demo" in page.text


def test_the_ways_it_leads_to_are_there(bare: Visitor) -> None:
    for address in ("/import", "/take-in"):
        page = bare.get(address)
        assert page.status == 200
        assert EMPTY not in page.text


def test_a_plan_made_of_nothing_does_not_say_that_nothing_need_be_done(bare: Visitor) -> None:
    made = bare.send(bare.get("/plan"), "/plan", horizon_years=3)
    assert made.status == 200
    assert EMPTY in made.text
    assert "sows nothing for seed" not in made.text
    assert "clearly safer" not in made.text


def test_a_variety_wanted_but_not_held_is_still_told(bare: Visitor) -> None:
    wanted = {"kind": "carrot", "name": "Invented Amber", "plants_wanted": 20}
    made = bare.client.post("/varieties", json=wanted, headers={"Idempotency-Key": "v"})
    assert made.status_code == 201
    page = bare.get("/")
    assert EMPTY in page.text
    assert "1 more can wait" in page.text
    told = bare.get("/season/running-out").text
    assert "No living seed is left for the 20 plants wanted a year." in told


def test_with_one_lot_the_pages_speak_of_it(bare: Visitor) -> None:
    headers = {"Idempotency-Key": "v"}
    variety = {"kind": "carrot", "name": "Invented Amber"}
    number = bare.client.post("/varieties", json=variety, headers=headers).json()["id"]
    lot = {"variety_id": number, "origin": "bought", "amount": {"seeds": 500}, "harvest_year": 2026}
    made = bare.client.post("/lots", json=lot, headers={"Idempotency-Key": "l"})
    assert made.status_code == 201
    for address in SPEAK_OF_LOTS:
        assert EMPTY not in bare.get(address).text


@pytest.mark.parametrize("address", ["/seed-to-save", "/supplies", "/saving-plan"])
def test_programs_are_told_first_that_there_is_nothing(bare: Visitor, address: str) -> None:
    answer = bare.client.get(address)
    assert answer.status_code == 200
    assert answer.json()["remarks"][0]["text"] == EMPTY
