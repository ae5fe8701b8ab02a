"""/kinds: the packaged ones, one's own, and one's own word."""

from tests.api.conftest import Hand


def test_kinds_are_listed_and_searched(hand: Hand) -> None:
    listed = hand.get("/kinds?limit=200").json()["items"]
    assert len(listed) > 100
    assert all(kind["packaged"] for kind in listed)
    found = hand.get("/kinds?q=carrot&packaged=true").json()["items"]
    assert [kind["slug"] for kind in found] == ["carrot"]


def test_the_facts_of_a_kind_are_listed_and_picked_by_name(hand: Hand) -> None:
    every = hand.get("/kinds/carrot/facts").json()["items"]
    assert every == hand.get("/kinds/carrot").json()["facts"]
    (one,) = hand.get("/kinds/carrot/facts?name=final_count_days").json()["items"]
    assert one["value"] == 14  # 7 CFR 201.58: carrot
    assert hand.get("/kinds/carrot/facts?name=colour").json()["items"] == []
    assert hand.get("/kinds/unheard-of/facts").status_code == 404


def test_a_fact_is_stated_and_taken_back(hand: Hand) -> None:
    first = hand.get("/kinds/carrot")
    body = {"value": "70", "source": "seed law where I live"}
    address = "/kinds/carrot/facts/minimum_germination_pct"
    stated = hand.put(address, body, if_match=first.headers["ETag"])
    assert stated.status_code == 200
    (fact,) = (f for f in stated.json()["facts"] if f["name"] == "minimum_germination_pct")
    assert fact["value"] == 70.0
    assert fact["source"] == {"text": "seed law where I live", "confidence": "own"}
    assert hand.put(address, body, if_match=first.headers["ETag"]).status_code == 412
    back = hand.delete(address, if_match=stated.headers["ETag"])
    assert (back.status_code, back.json()["version"]) == (200, 3)
    assert hand.delete(address, if_match="*").status_code == 404


def test_a_fact_nobody_asks_for_or_that_cannot_be_read_is_refused(hand: Hand) -> None:
    before = hand.dump()
    unknown = hand.put(
        "/kinds/carrot/facts/colour", {"value": "red", "source": "mine"}, if_match="*"
    )
    assert unknown.status_code == 422
    assert unknown.json()["errors"][0]["field"] == "name"
    unread = hand.put(
        "/kinds/carrot/facts/depth_cm", {"value": "deep", "source": "mine"}, if_match="*"
    )
    assert unread.status_code == 422
    assert unread.json()["errors"][0]["field"] == "value"
    assert hand.dump() == before


def test_a_kind_of_ones_own_comes_and_goes(hand: Hand) -> None:
    made = hand.post("/kinds", {"slug": "sea-beet", "name": "Sea beet"})
    assert made.headers["Location"] == "/kinds/sea-beet"
    named = hand.patch("/kinds/sea-beet", {"name": "Wild beet"}, if_match=made.headers["ETag"])
    assert named.json()["name"] == "Wild beet"
    assert hand.delete("/kinds/carrot", if_match="*").status_code == 409
    assert hand.delete("/kinds/sea-beet", if_match=named.headers["ETag"]).status_code == 204
    assert hand.get("/kinds/sea-beet").status_code == 404


def test_a_new_kind_takes_one_request(hand: Hand) -> None:
    asked = {"name": "Oca", "kept_as": "tubers", "keeps_years": 0.8, "poisonous": False}
    made = hand.made("/kinds", asked)
    assert made["slug"] == "oca"
    facts = {one["name"]: one["value"] for one in hand.get("/kinds/oca").json()["facts"]}
    assert (facts["kept_as"], facts["poisonous"]) == ("tubers", False)
    assert facts["planting_stock_years"]["low"] == 0.8
