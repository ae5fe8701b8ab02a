"""/seed-crops: from the lot sown to the lot harvested."""

from typing import Any

import pytest

from tests.api.conftest import Hand


@pytest.fixture
def site(hand: Hand) -> int:
    number: int = hand.made("/sites", {"name": "Long garden"})["id"]
    return number


def begun(hand: Hand, site: int, **more: Any) -> Any:
    code = more.pop("lot", None) or hand.lot(250, generation=2, origin="self-saved")
    return hand.post("/seed-crops", {"lot": code, "site_id": site, "purpose": "home", **more})


def test_a_seed_crop_from_sowing_to_the_new_lot(hand: Hand, site: int) -> None:
    parent = hand.lot(250, generation=2, origin="self-saved", acquired_on="2024-10-01")
    gear = hand.made("/isolation-gear", {"name": "Cages", "gear": "cage", "pieces": 3})["id"]
    made = begun(
        hand,
        site,
        lot=parent,
        flower_year=2026,
        isolation="cage",
        gear_id=gear,
        parents_started=40,
        sow={"sown_on": "2025-06-20", "seeds_sown": 60, "method": "module"},
    )
    address = made.headers["Location"]
    assert (made.status_code, made.json()["stage"]) == (201, "sown")
    assert hand.balance(parent) == 190
    assert hand.get(f"/sowings/{made.json()['sowing_id']}").json()["seeds_sown"] == 60
    changed = hand.patch(
        address, {"parents_rogued": 3, "parents_kept": 32}, if_match=made.headers["ETag"]
    )
    assert changed.status_code == 200
    told = hand.post(f"{address}/harvest", {"amount": {"seeds": 900}, "harvested_on": "2026-09-20"})
    assert told.status_code == 201
    lot = told.json()["lot"]
    assert told.headers["Location"] == f"/lots/{lot['code']}"
    shown = hand.get(told.headers["Location"]).json()
    assert shown == lot
    assert (shown["amount"]["seeds"], shown["generation"], shown["seed_parents"]) == (900, 3, 32)
    assert (shown["parents"], shown["isolation"], shown["purity"]) == ([parent], "cage", "isolated")
    (booked,) = hand.get(f"/lots/{lot['code']}/movements").json()["items"]
    assert (booked["reason"], booked["seeds"]) == ("harvested", 900)
    crop = hand.get(address).json()
    assert (crop["stage"], crop["result_lot"]) == ("harvested", lot["code"])
    for again in (f"{address}/harvest", f"{address}/fail", f"{address}/sow"):
        body = {"amount": {"seeds": 9}} if again.endswith("harvest") else {"why": "eaten"}
        response = hand.post(again, {} if again.endswith("sow") else body)
        assert response.status_code == 409, again


@pytest.mark.parametrize(
    ("field", "value"), [("gear_id", 99), ("site_id", 99), ("lot", "00000"), ("lot", "6X3K8")]
)
def test_naming_what_is_not_there_is_told_of_its_field_and_changes_nothing(
    hand: Hand, site: int, field: str, value: object
) -> None:
    made = begun(hand, site, flower_year=2027)
    assert made.status_code == 201
    before = hand.dump()
    address = made.headers["Location"]
    told = hand.patch(address, {field: value, "notes": "x"}, if_match=made.headers["ETag"])
    assert told.status_code == 422, told.text
    assert told.json()["errors"][0]["field"] == field
    assert hand.dump() == before


def test_a_crop_begun_with_gear_that_is_not_there_is_refused(hand: Hand, site: int) -> None:
    lot = hand.lot(250)
    before = hand.dump()
    told = begun(hand, site, lot=lot, flower_year=2027, gear_id=99)
    assert told.status_code == 422
    assert told.json()["errors"][0]["field"] == "gear_id"
    assert hand.dump() == before


def test_a_harvest_sent_twice_makes_one_lot(hand: Hand, site: int) -> None:
    sown = {"sown_on": "2025-06-20"}
    address = begun(hand, site, flower_year=2026, sow=sown).headers["Location"]
    body = {"amount": {"grams": 12.5}, "parents_kept": 20}
    first = hand.post(f"{address}/harvest", body, key="same")
    after = hand.dump()
    again = hand.post(f"{address}/harvest", body, key="same")
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert again.headers["Idempotent-Replay"] == "true"
    assert hand.dump() == after


def test_a_harvest_that_cannot_be_booked_leaves_the_crop_open(hand: Hand, site: int) -> None:
    begins = {"flower_year": 2026, "parents_started": 10, "sow": {"sown_on": "2025-06-20"}}
    address = begun(hand, site, **begins).headers["Location"]
    before = hand.dump()
    for body, field in (
        ({"amount": {"seeds": 9}, "parents_kept": 11}, "parents_kept"),
        ({"amount": {"seeds": 9}, "harvested_on": "2027-03-02"}, "harvested_on"),
        ({"amount": {"seeds": 9}, "place_id": 99}, "place_id"),
        ({"amount": {"seeds": 9, "grams": 2.0}}, "amount"),
    ):
        response = hand.post(f"{address}/harvest", body)
        assert response.status_code == 422
        assert response.json()["errors"][0]["field"] == field
        assert hand.dump() == before


def test_a_lost_crop_says_why_and_its_notes_can_still_be_mended(hand: Hand, site: int) -> None:
    made = begun(hand, site, flower_year=2026)
    address = made.headers["Location"]
    lost = hand.post(f"{address}/fail", {"why": "voles took the roots"})
    assert (lost.json()["stage"], lost.json()["failed_on"]) == ("failed", "2027-03-01")
    tag = lost.headers["ETag"]
    assert hand.patch(address, {"parents_kept": 1}, if_match=tag).status_code == 409
    assert hand.patch(address, {"notes": "and the mice"}, if_match=tag).status_code == 200
    assert hand.patch(address, {"notes": "stale"}, if_match=tag).status_code == 412


def test_seed_crops_are_listed_and_taken_out(hand: Hand, site: int) -> None:
    first, second = begun(hand, site, flower_year=2028), begun(hand, site, flower_year=2027)
    hand.post(f"{second.headers['Location']}/fail", {"why": "drought"})
    for query, found in (
        ("", [2, 1]),
        ("?year=2028", [1]),
        ("?open=true", [1]),
        ("?open=false&site=1", [2]),
        ("?variety=9", []),
    ):
        listed = hand.get(f"/seed-crops{query}").json()["items"]
        assert [crop["id"] for crop in listed] == found, query
    address = first.headers["Location"]
    assert hand.delete(address, if_match=first.headers["ETag"]).status_code == 204
    assert hand.get(address).status_code == 404


def test_a_lot_in_a_seed_crop_cannot_be_taken_out(hand: Hand, site: int) -> None:
    variety = hand.variety()
    code = hand.made("/lots", {"variety_id": variety, "origin": "gift"})["code"]
    begun(hand, site, lot=code)
    assert hand.delete(f"/lots/{code}", if_match='"1"').status_code == 409
    assert hand.delete(f"/varieties/{variety}", if_match='"1"').status_code == 409
    assert hand.delete(f"/sites/{site}", if_match='"1"').status_code == 409


def test_a_sowing_doubted_within_a_crop_names_its_own_confirmed(hand: Hand, site: int) -> None:
    lot = hand.lot(250, acquired_on="2027-02-01")
    sow = {"sown_on": "2027-01-31", "seeds_sown": 5}
    before = hand.dump()
    told = begun(hand, site, lot=lot, sow=sow)
    (error,) = told.json()["errors"]
    assert (told.status_code, error["field"]) == (422, "sow.sown_on")
    assert error["mend"].endswith("send it again with sow.confirmed true.")
    assert hand.dump() == before
    assert begun(hand, site, lot=lot, sow=sow | {"confirmed": True}).status_code == 201


def test_a_crop_planned_and_not_sown_cannot_be_harvested(hand: Hand, site: int) -> None:
    address = begun(hand, site, flower_year=2026).headers["Location"]
    before = hand.dump()
    told = hand.post(f"{address}/harvest", {"amount": {"seeds": 200}, "confirmed": True})
    assert (told.status_code, told.json()["errors"][0]["field"]) == (409, "sown_on")
    assert told.json()["detail"] == "This seed crop is planned and not sown yet."
    assert hand.dump() == before
