"""/lots: taken in, found, described, moved, and their ledger."""

import pytest

from tests.api.conftest import Hand


def test_a_lot_taken_in_lives_at_its_location(hand: Hand) -> None:
    body = {"variety_id": hand.variety(), "origin": "bought", "amount": {"seeds": 250}}
    response = hand.post("/lots", body)
    lot = response.json()
    assert response.status_code == 201
    assert response.headers["Location"] == f"/lots/{lot['code']}"
    shown = hand.get(response.headers["Location"])
    assert shown.json() == lot
    assert shown.headers["ETag"] == response.headers["ETag"]


def test_a_code_is_read_however_it_is_typed(hand: Hand) -> None:
    code = hand.lot()
    spaced = f"{code[:2].lower()}-{code[2:].lower()}"
    assert hand.get(f"/lots/{spaced}").json()["code"] == code


@pytest.fixture
def stocked(hand: Hand) -> dict[str, str]:
    carrot = hand.variety("carrot", "Purple Lantern", other_keepers="none")
    onion = hand.variety("onion", "Grey Bell", other_keepers="many")
    return {
        "rare": hand.lot(40, variety_id=carrot, origin="self-saved", harvest_year=2019),
        "new": hand.lot(500, variety_id=carrot, origin="bought", harvest_year=2026),
        "onion": hand.lot(
            90, variety_id=onion, origin="gift", harvest_year=2023, donor="Aunt 100%"
        ),
    }


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("kind=onion", {"onion"}),
        ("variety=1", {"rare", "new"}),
        ("other_keepers=none", {"rare", "new"}),
        ("origin=gift", {"onion"}),
        ("harvest_year_from=2023", {"new", "onion"}),
        ("harvest_year_to=2023", {"rare", "onion"}),
        ("harvest_year_from=2020&harvest_year_to=2024", {"onion"}),
        ("low_stock=90", {"rare"}),
        ("low_stock=91", {"rare", "onion"}),
        ("q=lantern", {"rare", "new"}),
        ("q=100%25", {"onion"}),
        ("q=grey+aunt", {"onion"}),
        ("untested_since=2026-01-01", {"new", "onion"}),
        ("untested_since=2027-01-01", {"rare", "new", "onion"}),
        ("kind=carrot&low_stock=90&q=purple", {"rare"}),
        ("kind=unheard-of", set()),
        ("kind=bulb+onions", {"onion"}),
    ],
)
def test_lots_are_found_by_what_they_are(
    hand: Hand, stocked: dict[str, str], query: str, found: set[str]
) -> None:
    test = {
        "lot": stocked["rare"],
        "started_on": "2026-05-01",
        "finished_on": "2026-05-15",
        "replicates": [{"seeds_set": 10, "normal": 7}],
    }
    hand.made("/germination-tests/finished", test)
    listed = {lot["code"] for lot in hand.get(f"/lots?{query}").json()["items"]}
    assert listed == {stocked[name] for name in found}


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("origin=stolen", "origin"),
        ("harvest_year_from=soon", "harvest_year_from"),
        ("untested_since=yesterday", "untested_since"),
        ("untested_since=1700006400", "untested_since"),  # no seconds since 1970
        ("low_stock=0", "low_stock"),
        ("variety=x", "variety"),
    ],
)
def test_a_filter_that_makes_no_sense_is_refused(hand: Hand, query: str, field: str) -> None:
    response = hand.get(f"/lots?{query}")
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == field


def test_changing_and_deleting_a_lot(hand: Hand) -> None:
    code = hand.made(
        "/lots", {"variety_id": hand.variety(), "origin": "gift", "amount": {"seeds": 0}}
    )["code"]
    changed = hand.patch(f"/lots/{code}", {"harvest_year": 2020, "notes": "x"}, if_match='"1"')
    assert (changed.status_code, changed.json()["harvest_year"]) == (200, 2020)
    gone = hand.delete(f"/lots/{code}", if_match=changed.headers["ETag"])
    assert (gone.status_code, gone.content) == (204, b"")
    assert hand.get(f"/lots/{code}").status_code == 404


def test_a_lot_with_movements_is_not_deleted(hand: Hand) -> None:
    code = hand.lot()
    before = hand.dump()
    response = hand.delete(f"/lots/{code}", if_match="*")
    assert response.status_code == 409
    assert "iscard" in response.json()["errors"][0]["mend"]
    assert hand.dump() == before


def test_null_clears_what_may_be_unknown_and_is_refused_elsewhere(hand: Hand) -> None:
    code = hand.lot(harvest_year=2020)
    cleared = hand.patch(f"/lots/{code}", {"harvest_year": None}, if_match="*")
    assert cleared.json()["harvest_year"] is None
    refused = hand.patch(f"/lots/{code}", {"origin": None}, if_match="*")
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "origin"


def test_a_lot_moves_from_place_to_place(hand: Hand) -> None:
    shed, fridge = (hand.made("/places", {"name": name})["id"] for name in ("Shed", "Fridge"))
    code = hand.lot(acquired_on="2025-01-01", place_id=shed)
    moved = hand.post(f"/lots/{code}/stays", {"place_id": fridge, "from_date": "2026-01-01"})
    assert moved.status_code == 201
    stays = hand.get(moved.headers["Location"]).json()["items"]
    assert [(stay["place"]["name"], stay["until"]) for stay in stays] == [
        ("Shed", "2026-01-01"),
        ("Fridge", None),
    ]
    assert hand.get(f"/lots/{code}").json()["place"]["name"] == "Fridge"
    assert hand.delete(f"/places/{shed}", if_match="*").status_code == 409


def test_the_ledger_is_booked_listed_counted_and_undone(hand: Hand) -> None:
    code = hand.lot(250)
    given = hand.post(f"/lots/{code}/movements", {"reason": "given", "amount": {"seeds": 30}})
    assert given.status_code == 201
    assert given.headers["Location"] == f"/lots/{code}/movements/2"
    assert hand.get(given.headers["Location"]).json()["seeds"] == -30
    undone = hand.post(f"/lots/{code}/movements/2/undo")
    assert (undone.status_code, undone.json()["undoes"]) == (201, 2)
    taken = hand.made(f"/lots/{code}/stock-takes", {"seeds": 240, "note": "counted"})
    assert (taken["seeds"], taken["balance_seeds"]) == (-10, 240)
    listed = hand.get(f"/lots/{code}/movements?limit=2").json()
    rest = hand.get(listed["next"]).json()
    assert [m["serial"] for m in listed["items"] + rest["items"]] == [1, 2, 3, 4]
    only = hand.get(f"/lots/{code}/movements?reason=given").json()["items"]
    assert [m["serial"] for m in only] == [2]


def test_amounts_are_counted_or_weighed_and_never_both(hand: Hand) -> None:
    code = hand.lot()
    for amount in ({}, {"seeds": 1, "grams": 0.1}, {"grams": 1.0, "seeds_se": 2.0}):
        response = hand.post(f"/lots/{code}/movements", {"reason": "given", "amount": amount})
        assert response.status_code == 422
        assert response.json()["errors"][0]["field"] == "amount"


def test_a_lot_does_not_become_another_kind(hand: Hand) -> None:
    code = hand.lot(variety_id=hand.variety("beet", "Odd Beet"))
    bean = hand.variety("broad-bean", "Odd Bean")
    other = hand.variety("beet", "Other Beet")
    refused = hand.patch(f"/lots/{code}", {"variety_id": bean}, if_match="*")
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "variety_id"
    assert hand.patch(f"/lots/{code}", {"variety_id": other}, if_match="*").status_code == 200


def test_a_name_that_turns_the_direction_of_writing_is_refused(hand: Hand) -> None:
    body = {"kind": "carrot", "name": "Purple \u202enretnaL"}
    refused = hand.post("/varieties", body)
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "name"


def test_a_verdict_on_treated_seed_carries_its_caution(hand: Hand) -> None:
    treated, plain = hand.lot(treated=True), hand.lot()
    said = hand.get(f"/lots/{treated}/verdict").json()
    texts = " ".join(caution["text"] for caution in said["cautions"])
    assert "dyed" in texts
    assert {c["source"]["text"] for c in said["cautions"]} <= {s["text"] for s in said["sources"]}
    other = hand.get(f"/lots/{plain}/verdict").json()["cautions"]
    assert "dyed" not in " ".join(caution["text"] for caution in other)


def test_a_lot_never_tested_is_due_within_a_year_of_its_harvest(hand: Hand) -> None:
    # FAO Genebank Standards 2014, 4.3.1: the first test at the latest 12 months after receipt.
    for harvested, due in (("2026-09-15", "2027-09-15"), ("2025-09-01", "2026-09-01")):
        code = hand.lot(harvest_date=harvested)
        retest = hand.get(f"/lots/{code}/viability").json()["retest"]
        assert retest["due_on"] == due
        assert "never tested" in retest["text"]
