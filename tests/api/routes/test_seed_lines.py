"""/crossing-check, and a lot's /seed-parents and /drift."""

from tests.api.conftest import Hand


def test_a_crossing_check_before_anything_is_sown(hand: Hand) -> None:
    site = hand.made("/sites", {"name": "Long garden"})["id"]
    chard, beet = hand.variety("chard", "Rainrib"), hand.variety("beet", "Inkroot")
    run = {"year": 2027, "site_id": site, "variety_id": chard, "what": "left-to-run"}
    hand.made("/flowerings", run)
    address = f"/crossing-check?variety={beet}&site={site}&year=2027&purpose=keep"
    told = hand.get(address).json()
    assert told["purity"] == "risk"
    (one,) = told["may_cross"]
    assert (one["kind"], one["distance_m"], one["required_m"]) == ("chard", 0.0, 1000.0)
    assert one["mends"][0]["code"] == "stop-flowering"
    assert any(source["confidence"] == "memory" for source in told["sources"])
    assert hand.get(f"{address}&isolation=cage").json()["purity"] == "risk"  # the wind goes through
    assert hand.get(f"{address}&isolation=fence").status_code == 422
    assert hand.get("/crossing-check?variety=99&site=1&year=2027").status_code == 422


def test_seed_parents_and_drift_of_a_lot(hand: Hand) -> None:
    founder = hand.lot(400)
    variety = hand.get(f"/lots/{founder}").json()["variety"]["id"]
    child = hand.lot(
        300, variety_id=variety, origin="self-saved", parents=[founder], seed_parents=10
    )
    parents = hand.get(f"/lots/{child}/seed-parents?purpose=home").json()
    assert (parents["parents"], parents["seeds_held"]) == (5, 300)
    assert [year["flower_year"] for year in parents["years"]] == [2028, 2029]
    assert parents["seeds"] >= parents["plants"] >= 5
    drift = hand.get(f"/lots/{child}/drift").json()
    assert drift["kept"] == 0.95  # 1 - 1/(2 x 10)
    assert [step["lot"] for step in drift["line"]] == [founder, child]
    assert hand.get("/lots/00001/drift").status_code in (404, 422)


def test_what_is_no_seed_of_one_kind_has_no_seed_parents_as_the_document_says(hand: Hand) -> None:
    garlic = hand.lot(12, variety_id=hand.variety("garlic", "Stiffneck"))
    address = f"/lots/{garlic}/seed-parents"
    assert hand.get(address).status_code == 409
    documented = hand.app.openapi()["paths"]["/lots/{code}/seed-parents"]["get"]["responses"]
    assert "409" in documented
