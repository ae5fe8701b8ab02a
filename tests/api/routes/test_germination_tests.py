"""/germination-tests: the main job in one call, or day by day."""

from tests.api.conftest import Hand

WHOLE = {
    "substratum": "paper-towel",
    "started_on": "2027-02-01",
    "finished_on": "2027-02-15",
    "replicates": [
        {"seeds_set": 25, "normal": 14, "abnormal": 1, "fresh": 2, "dead": 8},
        {"seeds_set": 25, "normal": 13, "dead": 12},
    ],
}


def test_a_paper_towel_test_is_one_call_with_its_interval_reasons_and_sources(hand: Hand) -> None:
    code = hand.lot(250)
    response = hand.post("/germination-tests/finished", {"lot": code, **WHOLE})
    test = response.json()
    assert response.status_code == 201
    said = test["evaluation"]
    assert said["germination"]["low_pct"] < said["germination"]["pct"] == 54.0
    assert said["germination"]["high_pct"] > 54.0
    assert said["minimum"]["minimum_pct"] == 65.0  # 2002/55/EC Annex II: carrot
    assert said["agreement"]["agree"] is True
    assert said["findings"]
    assert test["sources"]
    assert hand.balance(code) == 200
    assert hand.get(response.headers["Location"]).json() == test


def test_a_test_sent_twice_takes_its_seed_once(hand: Hand) -> None:
    code = hand.lot(250)
    for _ in range(2):
        hand.post("/germination-tests/finished", {"lot": code, **WHOLE}, key="towel")
    assert hand.balance(code) == 200
    assert len(hand.get("/germination-tests").json()["items"]) == 1


def test_a_test_day_by_day(hand: Hand) -> None:
    code = hand.lot(250)
    body = {"lot": code, "started_on": "2027-02-01", "replicates": [20]}
    made = hand.post("/germination-tests", body)
    address = made.headers["Location"]
    assert made.json()["first_count_due"] == "2027-02-07"  # 7 CFR 201.58: carrot, 6 days
    day = {"on_date": "2027-02-07", "counts": [{"replicate": 1, "normal": 12}]}
    assert hand.made(f"{address}/counts", day)["interim"]["unjudged"] == 8
    wrong = {**day, "counts": [{"replicate": 1, "normal": 11}], "why": "counted one twice"}
    assert len(hand.made(f"{address}/corrections", wrong)["counts"]) == 2
    refused = hand.post(f"{address}/finish", {"finished_on": "2027-02-15"})
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/conflict")
    done = hand.made(f"{address}/finish", {"finished_on": "2027-02-15", "rest_dead": True})
    assert done["evaluation"]["germination"]["pct"] == 55.0
    twice = hand.post(f"{address}/finish", {})
    assert twice.status_code == 409


def test_tests_are_listed_open_due_or_of_one_lot(hand: Hand) -> None:
    code = hand.lot(250)
    hand.made("/germination-tests/finished", {"lot": hand.lot(), **WHOLE})
    hand.made("/germination-tests", {"lot": code, "started_on": "2027-02-01", "replicates": [20]})
    for query, found in (
        ("", [1, 2]),
        ("?open=true", [2]),
        ("?open=false", [1]),
        ("?due_by=2027-02-07", [2]),
        ("?due_by=2027-02-06", []),
        ("?finished_from=2027-02-15", [1]),
        (f"?lot={code}", [2]),
    ):
        listed = hand.get(f"/germination-tests{query}").json()["items"]
        assert [test["id"] for test in listed] == found, query


def test_a_test_is_changed_and_taken_back_at_the_version_read(hand: Hand) -> None:
    code = hand.lot(250)
    made = hand.post("/germination-tests/finished", {"lot": code, **WHOLE})
    address = made.headers["Location"]
    changed = hand.patch(address, {"temp_c": 18.5}, if_match=made.headers["ETag"])
    assert (changed.status_code, changed.json()["temp_c"]) == (200, 18.5)
    assert hand.delete(address, if_match=made.headers["ETag"]).status_code == 412
    assert hand.delete(address, if_match=changed.headers["ETag"]).status_code == 204
    assert hand.balance(code) == 250


def test_a_failed_test_changes_nothing(hand: Hand) -> None:
    code = hand.lot(30)
    before = hand.dump()
    for body, status, field in (
        ({"lot": code, **WHOLE}, 409, "replicates"),
        ({"lot": "00000", **WHOLE}, 422, "lot"),
        ({"lot": code, **WHOLE, "finished_on": "2027-03-02"}, 422, "finished_on"),
        ({"lot": code, **WHOLE, "replicates": []}, 422, "replicates"),
        (
            {"lot": code, **WHOLE, "replicates": [{"seeds_set": 20, "normal": 21}]},
            422,
            "replicates[0]",
        ),
    ):
        response = hand.post("/germination-tests/finished", body)
        assert response.status_code == status
        assert response.json()["errors"][0]["field"] == field
    assert hand.dump() == before


def test_what_went_wrong_is_told_afterwards(hand: Hand) -> None:
    code = hand.lot(250)
    made = hand.post("/germination-tests/finished", {"lot": code, **WHOLE})
    assert made.json()["fault"] is None
    before = hand.get(f"/lots/{code}/viability").json()
    at = made.headers["Location"]
    told = hand.patch(at, {"fault": "too-cold"}, if_match=made.headers["ETag"])
    assert told.json()["fault"] == "too-cold"
    after = hand.get(f"/lots/{code}/viability").json()
    assert [one["went_wrong"] for one in after["tests"]] == [True]
    assert after["now"]["median_pct"] > before["now"]["median_pct"]
    wrong = hand.patch(at, {"fault": "bad luck"}, if_match=told.headers["ETag"])
    assert wrong.status_code == 422
    assert wrong.json()["errors"][0]["field"] == "fault"
