"""/varieties and /places: made, found, changed, taken out."""

import pytest

from tests.api.conftest import Hand


def test_a_variety_is_made_found_and_taken_out(hand: Hand) -> None:
    body = {"kind": "carrot", "name": "Purple Lantern", "other_keepers": "few"}
    made = hand.post("/varieties", body)
    assert (made.status_code, made.headers["Location"]) == (201, "/varieties/1")
    hand.variety("onion", "Grey Bell", breeding="landrace")
    for query, found in (
        ("", ["Grey Bell", "Purple Lantern"]),
        ("?kind=carrot", ["Purple Lantern"]),
        ("?other_keepers=few", ["Purple Lantern"]),
        ("?breeding=landrace", ["Grey Bell"]),
        ("?q=bell", ["Grey Bell"]),
    ):
        listed = hand.get(f"/varieties{query}").json()["items"]
        assert [variety["name"] for variety in listed] == found, query
    assert hand.delete("/varieties/1", if_match=made.headers["ETag"]).status_code == 204


def test_a_kind_goes_by_any_of_its_names(hand: Hand) -> None:
    named = {"zucchini": "squash-pepo", "French bean": "common-bean", "Zwiebel": "onion"}
    for name, slug in named.items():
        made = hand.made("/varieties", {"kind": name, "name": "Dusk"})
        assert made["kind"] == slug
        assert [one["id"] for one in hand.get(f"/varieties?kind={name}").json()["items"]] == [
            made["id"]
        ]
    refused = hand.post("/varieties", {"kind": "squash", "name": "Dusk"})
    assert refused.status_code == 422
    assert "More than one kind" in refused.text


def test_a_variety_with_lots_stays(hand: Hand) -> None:
    number = hand.variety()
    hand.lot(variety_id=number)
    assert hand.delete(f"/varieties/{number}", if_match="*").status_code == 409


@pytest.mark.parametrize(
    ("path", "first", "second"),
    [
        (
            "/varieties",
            {"kind": "carrot", "name": "A"},
            {"kind": "carrot", "name": "B"},
        ),
        ("/places", {"name": "A"}, {"name": "B"}),
    ],
)
def test_a_name_is_taken_once(
    hand: Hand, path: str, first: dict[str, str], second: dict[str, str]
) -> None:
    hand.made(path, first)
    other = hand.made(path, second)
    before = hand.dump()
    renamed = hand.patch(f"{path}/{other['id']}", {"name": "A"}, if_match="*")
    assert renamed.status_code == 409
    assert renamed.json()["errors"][0]["field"] == "name"
    assert hand.dump() == before
    same = hand.patch(f"{path}/{other['id']}", {"name": "B"}, if_match="*")
    assert same.status_code == 200


def test_the_same_name_in_another_kind_is_another_variety(hand: Hand) -> None:
    assert hand.variety("carrot", "A") != hand.variety("onion", "A")


def test_a_place_is_made_changed_and_taken_out(hand: Hand) -> None:
    made = hand.post("/places", {"name": "Shed", "temp_winter_c": 4.0, "rh_winter_pct": 80.0})
    changed = hand.patch("/places/1", {"rh_winter_pct": None}, if_match=made.headers["ETag"])
    assert changed.json()["rh_winter_pct"] is None
    assert changed.json()["temp_winter_c"] == 4.0
    too_hot = hand.patch("/places/1", {"temp_summer_c": 61}, if_match="*")
    assert too_hot.status_code == 422
    assert hand.delete("/places/1", if_match=changed.headers["ETag"]).status_code == 204
    assert hand.get("/places/1").status_code == 404
