"""/flowerings, /kinds/{slug}/flowering-window and /plan-pins."""

from tests.api.conftest import Hand


def test_what_flowers_is_noted_listed_stopped_and_taken_out(hand: Hand) -> None:
    site = hand.made("/sites", {"name": "Long garden"})["id"]
    mine = {"year": 2027, "site_id": site, "variety_id": hand.variety("chard")}
    made = hand.post("/flowerings", {**mine, "what": "left-to-run"})
    assert (made.json()["kind"], made.json()["distance_m"]) == ("chard", 0.0)
    wild = {"year": 2028, "site_id": site, "kind": "carrot", "what": "wild"}
    assert hand.made("/flowerings", wild)["distance_m"] is None
    for query, found in (
        ("", [1, 2]),
        ("?year=2028", [2]),
        ("?kind=chard&site=1", [1]),
        ("?what=self-sown", []),
    ):
        listed = hand.get(f"/flowerings{query}").json()["items"]
        assert [one["id"] for one in listed] == found, query
    assert hand.get("/flowerings?kind=moonflower").status_code == 422
    address, tag = made.headers["Location"], made.headers["ETag"]
    stopped = hand.patch(address, {"stopped_on": "2027-02-28"}, if_match=tag)
    assert stopped.json()["stopped_on"] == "2027-02-28"
    assert hand.delete(address, if_match=stopped.headers["ETag"]).status_code == 204


def test_flowering_that_makes_no_sense_is_refused_by_its_field(hand: Hand) -> None:
    site = hand.made("/sites", {"name": "Long garden"})["id"]
    chard = hand.variety("chard")
    good = {"year": 2027, "site_id": site, "kind": "chard", "what": "self-sown"}
    before = hand.dump()
    for wrong, field in (
        ({"site_id": 9}, "site_id"),
        ({"kind": "moonflower"}, "kind"),
        ({"kind": "carrot", "variety_id": chard}, "kind"),
        ({"variety_id": 99}, "variety_id"),
        ({"distance_m": 5.0}, "distance_m"),
        ({"from_date": "2027-06-02", "to_date": "2027-06-01"}, "to_date"),
        ({"from_date": "2025-06-02"}, "from_date"),
        ({"stopped_on": "2027-03-02"}, "stopped_on"),
        ({"kind": None}, ""),
    ):
        response = hand.post("/flowerings", {**good, **wrong})
        assert response.status_code == 422, wrong
        assert response.json()["errors"][0]["field"] == field
        assert hand.dump() == before


def test_your_own_window_goes_before_the_packaged_one(hand: Hand) -> None:
    hand.made("/sites", {"name": "Long garden"})
    address = "/kinds/carrot/flowering-window"
    packaged = hand.get(address)
    assert packaged.json()["stated_by_you"] is False
    assert packaged.json()["source"]["text"]
    kind = hand.get("/kinds/carrot").headers["ETag"]
    stated = {"from_day": 170, "to_day": 190, "source": "my notebook"}
    own = hand.put(address, stated, if_match=kind)
    assert (own.status_code, own.json()["text"]) == (200, "19 Jun to 9 Jul")
    assert hand.put(address, stated, if_match=kind).status_code == 412
    here = {"from_day": 350, "to_day": 20, "source": "a mild corner"}
    tag = own.headers["ETag"]
    assert hand.put(f"{address}?site=1", here, if_match=tag).json()["site"]["id"] == 1
    assert hand.get(f"{address}?site=1").json()["from_day"] == 350
    assert hand.get(address).json()["from_day"] == 170
    assert hand.delete(address, if_match="*").status_code == 204
    assert hand.get(address).json()["from_day"] == packaged.json()["from_day"]
    assert hand.delete(address, if_match="*").status_code == 404
    assert hand.put(f"{address}?site=9", here, if_match="*").status_code == 422


def test_a_kind_nobody_knows_the_flowers_of_has_no_window(hand: Hand) -> None:
    hand.made("/kinds", {"slug": "moonflower", "name": "Moonflower"})
    assert hand.get("/kinds/moonflower/flowering-window").status_code == 404


def test_pins_are_set_listed_changed_and_taken_out(hand: Hand) -> None:
    hand.made("/sites", {"name": "Long garden"})
    pin = {"variety_id": hand.variety(), "year": 2028, "site_id": 1, "isolation": "cage"}
    made = hand.post("/plan-pins", pin)
    hand.made("/plan-pins", {**pin, "year": 2027, "wanted": False})
    assert [one["id"] for one in hand.get("/plan-pins").json()["items"]] == [2, 1]
    assert [one["id"] for one in hand.get("/plan-pins?year=2028").json()["items"]] == [1]
    address = made.headers["Location"]
    changed = hand.patch(address, {"site_id": None}, if_match=made.headers["ETag"])
    assert (changed.json()["site"], changed.json()["isolation"]) == (None, "cage")
    assert hand.delete(address, if_match=changed.headers["ETag"]).status_code == 204
    for wrong, field in (({"variety_id": 99}, "variety_id"), ({"site_id": 99}, "site_id")):
        response = hand.post("/plan-pins", {**pin, **wrong})
        assert response.json()["errors"][0]["field"] == field
