"""A lot holding some, not counted, over HTTP: used in every way, null and said in words."""

from tests.api.conftest import Hand


def test_a_lot_without_an_amount_is_used_and_counted_later(hand: Hand) -> None:
    body = {"variety_id": hand.variety(), "origin": "gift", "acquired_on": None}
    lot = hand.made("/lots", body)
    code = lot["code"]
    assert (lot["amount"]["seeds"], lot["amount"]["text"]) == (None, "some, not counted")
    assert lot["acquired_on"] is None
    sown = {"lot": code, "method": "row", "seeds_sown": 200, "row_m": 2}
    hand.made("/sowings", sown)
    hand.made("/germination-tests", {"lot": code, "replicates": [25, 25]})
    given = hand.made(f"/lots/{code}/movements", {"reason": "given", "amount": {"seeds": 30}})
    assert (given["seeds"], given["balance_seeds"]) == (-30, None)
    advice = hand.get(f"/lots/{code}/sowing-advice?plants=10&method=row").json()
    assert advice["seeds_available"] is None
    assert advice["rate"]["capped"]  # it may well be dead, and more than that couldn't be thinned
    assert advice["rate"]["advised"] == advice["rate"]["most"]
    assert advice["rate"]["say"]["code"] == "rate-test-first-or-fresh"
    verdict = hand.get(f"/lots/{code}/verdict").json()
    assert verdict["balance_seeds"] is None
    assert verdict["verdict"] is not None
    assert hand.get("/lots?low_stock=100").json()["items"] == []
    assert hand.get(f"/lots/{code}/passport").json()["given_seeds"] is None
    counted = hand.made(f"/lots/{code}/stock-takes", {"seeds": 120})
    assert (counted["seeds"], counted["balance_seeds"], counted["first_count"]) == (400, 120, True)
    assert hand.balance(code) == 120
    undone = hand.made(f"/lots/{code}/movements/{counted['serial']}/undo")
    assert undone["balance_seeds"] is None
    assert hand.balance(code) is None


def test_null_is_some_and_none_is_said_with_a_nought(hand: Hand) -> None:
    variety = hand.variety()
    body = {"variety_id": variety, "origin": "gift"}
    assert hand.made("/lots", {**body, "amount": None})["amount"]["seeds"] is None
    assert hand.made("/lots", {**body, "amount": {"seeds": 0}})["amount"]["text"] == "none left"
    refused = hand.post("/lots", {**body, "amount": {}})
    assert refused.status_code == 422


def test_nothing_is_asked_of_what_came_in_since(hand: Hand) -> None:
    hand.lot(0)
    assert hand.get("/entry-doubts").json() == {"items": [], "next": None, "near": False}
    settled = hand.post("/entry-doubts/answers", {"amount": "some"})
    assert (settled.status_code, settled.json()) == (200, {"settled": 0, "left": 0})
    assert hand.post("/entry-doubts/answers", {}).status_code == 422
