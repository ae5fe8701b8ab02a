"""The genebanks' passport descriptors over HTTP."""

from tests.api.conftest import Hand


def test_a_lot_is_told_and_taken_in_again_by_the_next_keeper(hand: Hand) -> None:
    code = hand.lot(250, variety_id=hand.variety(breeding="landrace"), origin="gift", donor="N. 9")
    response = hand.get(f"/lots/{code}/descriptors?institute=AAA001")
    assert response.status_code == 200, response.text
    record = response.json()["record"]
    assert record["ACCENUMB"] == code
    assert record["SAMPSTAT"] == "300"
    assert response.json()["cautions"]
    made = hand.made("/lot-descriptors", {"records": [record]})
    lot = made["lots"][0]
    assert (lot["origin"], lot["donor"]) == ("gift", "AAA001")
    again = hand.post("/lot-descriptors", {"records": [record]})
    assert again.status_code == 409


def test_a_value_the_standard_does_not_allow_is_refused_by_record_and_field(hand: Hand) -> None:
    before = hand.dump()
    good = {"CROPNAME": "carrot", "ACCENAME": "Grey Mill"}
    response = hand.post("/lot-descriptors", {"records": [good, good | {"SAMPSTAT": "301"}]})
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "records[1].SAMPSTAT"
    odd = hand.post("/lot-descriptors", {"records": [good | {"NOSUCHFIELD": "1"}]})
    assert odd.json()["errors"][0]["field"] == "records[0].NOSUCHFIELD"
    misnamed = hand.post("/lot-descriptors", {"records": [good | {"small heads": "1"}]})
    (error,) = misnamed.json()["errors"]
    assert error["field"] == "records[0].small heads"
    assert "the name itself" in error["mend"]
    assert hand.dump() == before
    assert hand.get(f"/lots/{hand.lot(5)}/descriptors?institute=mine").status_code == 422
