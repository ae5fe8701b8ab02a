"""/sowings: sown, come up, lost, finished."""

from tests.api.conftest import Hand


def test_a_sowing_from_seed_to_the_last_count(hand: Hand) -> None:
    code = hand.lot(250)
    body = {"lot": code, "seeds_sown": 100, "method": "row", "sown_on": "2027-02-01"}
    made = hand.post("/sowings", body)
    address = made.headers["Location"]
    assert made.status_code == 201
    assert hand.balance(code) == 150
    counted = hand.made(f"{address}/emergence", {"on_date": "2027-02-15", "units_emerged": 60})
    assert counted["emerged"]["pct"] == 60.0
    lost = hand.made(f"{address}/losses", {"cause": "eaten", "units_lost": 20})
    assert lost["emerged"]["pct"] == 75.0
    done = hand.made(f"{address}/finish", {})
    assert done["finished_on"] == "2027-03-01"
    assert hand.get(address).json() == done
    assert hand.post(f"{address}/finish", {}).status_code == 409


def test_more_come_up_than_were_sown_is_refused(hand: Hand) -> None:
    body = {"lot": hand.lot(), "seeds_sown": 10, "method": "station"}
    address = hand.post("/sowings", body).headers["Location"]
    before = hand.dump()
    response = hand.post(f"{address}/emergence", {"units_emerged": 11})
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "units_emerged"
    assert hand.dump() == before


def test_sowings_are_listed_changed_and_taken_back(hand: Hand) -> None:
    code = hand.lot(250)
    body = {"lot": code, "seeds_sown": 100, "method": "row", "sown_on": "2027-02-01"}
    made = hand.post("/sowings", body)
    hand.made("/sowings", {"lot": hand.lot(), "seeds_sown": 5, "method": "module"})
    for query, found in (
        ("", [1, 2]),
        (f"?lot={code}", [1]),
        ("?sown_from=2027-02-02", [2]),
        ("?sown_to=2027-02-01", [1]),
        ("?open=false", []),
    ):
        listed = hand.get(f"/sowings{query}").json()["items"]
        assert [sowing["id"] for sowing in listed] == found, query
    address = made.headers["Location"]
    changed = hand.patch(address, {"soil_temp_c": 9.0}, if_match=made.headers["ETag"])
    assert changed.json()["soil_temp_c"] == 9.0
    assert hand.delete(address, if_match=changed.headers["ETag"]).status_code == 204
    assert hand.balance(code) == 250


def test_a_doubt_is_told_with_what_to_send_if_it_is_so(hand: Hand) -> None:
    body = {"lot": hand.lot(), "seeds_sown": 60, "method": "station"}
    address = hand.post("/sowings", body).headers["Location"]
    before = hand.dump()
    count = {"units_emerged": 60}
    told = hand.post(f"{address}/emergence", count, key="up")
    assert (told.status_code, told.json()["type"]) == (422, "/problems/doubted")
    (error,) = told.json()["errors"]
    assert (error["field"], error["value"]) == ("on_date", "2027-03-01")
    assert error["mend"].endswith("If it is so, send it again with confirmed true.")
    assert hand.dump() == before
    taken = hand.post(f"{address}/emergence", count | {"confirmed": True}, key="up")
    assert (taken.status_code, taken.json()["units_emerged"]) == (200, 60)
    for body in (count | {"units_emerged": 61}, count | {"units_emerged": 61, "confirmed": True}):
        refused = hand.post(f"{address}/emergence", body)
        assert (refused.status_code, refused.json()["type"]) == (422, "/problems/bad-value")
