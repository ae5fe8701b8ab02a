"""/sites, /isolation-gear and /garden-limits: where seed crops stand and what they may take."""

from tests.api.conftest import Hand


def test_a_distance_said_from_one_site_shows_from_both(hand: Hand) -> None:
    here = hand.post("/sites", {"name": "Long garden", "seed_bed_m2": 12.0})
    hand.made("/sites", {"name": "By the ford"})
    told = hand.put("/sites/1/distances/2", {"metres": 640.0}, if_match=here.headers["ETag"])
    assert told.json()["distances"] == [{"site": {"id": 2, "name": "By the ford"}, "metres": 640.0}]
    there = hand.get("/sites/2")
    assert there.json()["distances"][0]["site"]["name"] == "Long garden"
    assert hand.get("/sites/2/distances").json()["items"] == there.json()["distances"]
    assert [site["name"] for site in hand.get("/sites").json()["items"]] == [
        "By the ford",
        "Long garden",
    ]
    stale = hand.put("/sites/1/distances/2", {"metres": 1.0}, if_match=here.headers["ETag"])
    assert stale.status_code == 412
    gone = hand.delete("/sites/2/distances/1", if_match=there.headers["ETag"])
    assert (gone.status_code, gone.json()["distances"]) == (200, [])
    missing = hand.delete("/sites/2/distances/1", if_match=gone.headers["ETag"])
    assert missing.status_code == 404


def test_distances_that_cannot_be_are_refused(hand: Hand) -> None:
    made = hand.post("/sites", {"name": "Long garden"})
    tag = made.headers["ETag"]
    before = hand.dump()
    for path, body, status in (
        ("/sites/1/distances/1", {"metres": 5.0}, 422),
        ("/sites/1/distances/2", {"metres": 5.0}, 404),
        ("/sites/1/distances/2", {"metres": -5.0}, 422),
    ):
        assert hand.put(path, body, if_match=tag).status_code == status
        assert hand.dump() == before


def test_a_site_is_changed_and_taken_out_and_its_name_is_its_own(hand: Hand) -> None:
    made = hand.post("/sites", {"name": "Long garden"})
    hand.made("/sites", {"name": "By the ford"})
    assert hand.post("/sites", {"name": "Long garden"}).status_code == 409
    changed = hand.patch("/sites/1", {"seed_bed_m2": 9.0}, if_match=made.headers["ETag"])
    assert changed.json()["seed_bed_m2"] == 9.0
    clash = hand.patch("/sites/1", {"name": "By the ford"}, if_match=changed.headers["ETag"])
    assert clash.status_code == 409
    hand.put("/sites/1/distances/2", {"metres": 5.0}, if_match="*")
    assert hand.delete("/sites/1", if_match="*").status_code == 204
    assert hand.get("/sites/2").json()["distances"] == []


def test_gear_is_listed_changed_and_taken_out(hand: Hand) -> None:
    cages = hand.post("/isolation-gear", {"name": "Cages", "gear": "cage", "covers_m2": 1.8})
    hand.made("/isolation-gear", {"name": "Bags", "gear": "bag", "pieces": 40})
    assert [one["name"] for one in hand.get("/isolation-gear").json()["items"]] == ["Bags", "Cages"]
    assert len(hand.get("/isolation-gear?gear=cage").json()["items"]) == 1
    address, tag = cages.headers["Location"], cages.headers["ETag"]
    changed = hand.patch(address, {"pieces": 3}, if_match=tag)
    assert changed.json()["pieces"] == 3
    assert hand.post("/isolation-gear", {"name": "Bags", "gear": "net"}).status_code == 409
    assert hand.delete(address, if_match=tag).status_code == 412
    assert hand.delete(address, if_match=changed.headers["ETag"]).status_code == 204


def test_limits_begin_unset_and_of_two_editors_one_wins(hand: Hand) -> None:
    first = hand.get("/garden-limits")
    assert first.json() == {"seed_crops_a_year": None, "version": 1}
    tag = first.headers["ETag"]
    assert hand.patch("/garden-limits", {"seed_crops_a_year": 8}, if_match=tag).status_code == 200
    assert hand.patch("/garden-limits", {"seed_crops_a_year": 3}, if_match=tag).status_code == 412
    assert hand.get("/garden-limits").json() == {"seed_crops_a_year": 8, "version": 2}
