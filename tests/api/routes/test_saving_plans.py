"""Saving plans and supplies over HTTP: worked out, kept once for a key, read again."""

import pytest

from tests.api.conftest import TODAY, Hand

RARE = {"other_keepers": "none", "breeding": "landrace", "plants_wanted": 10}


@pytest.fixture
def radish(hand: Hand) -> int:
    """A rare radish nearly past it, on a garden with a site of its own."""
    hand.made("/sites", {"name": "Long garden", "seed_bed_m2": 20.0})
    number = hand.variety("radish", "Old Flame", **RARE)
    hand.lot(200, variety_id=number, harvest_year=2024)
    return number


def test_a_plan_is_worked_out_and_nothing_is_kept(hand: Hand, radish: int) -> None:
    before = hand.dump()
    plan = hand.get("/saving-plan?horizon_years=3").json()
    assert plan["id"] is None
    assert plan["status"] == "proven"
    assert [one["variety"]["id"] for one in plan["this_year"]] == [radish]
    assert plan["this_year"][0]["sow_in"] == TODAY.year
    assert hand.dump() == before


def test_a_plan_is_kept_once_for_its_key_and_read_at_its_address(hand: Hand, radish: int) -> None:
    body = {"horizon_years": 3}
    first = hand.post("/saving-plans", body, key="plan")
    assert first.status_code == 201
    again = hand.post("/saving-plans", body, key="plan")
    assert again.headers["Idempotent-Replay"] == "true"
    assert again.json() == first.json()
    kept = hand.get(first.headers["Location"]).json()
    assert kept["id"] == first.json()["id"]
    assert {one["variety"]["id"] for one in kept["crops"]} == {radish}
    assert {one["site"] for one in kept["crops"]} == {"Long garden"}
    assert len(hand.dump()["plan_run"]) == 1


@pytest.mark.usefixtures("radish")
def test_the_next_plan_starts_from_the_one_kept(hand: Hand) -> None:
    kept = hand.made("/saving-plans", {"horizon_years": 3})
    again = hand.get("/saving-plan?horizon_years=3").json()
    assert again["changes"] == 0
    assert again["this_year"] == kept["this_year"]


def test_a_pin_over_http_is_kept_by_the_plan(hand: Hand, radish: int) -> None:
    pin = {"variety_id": radish, "year": TODAY.year, "wanted": False}
    number = hand.made("/plan-pins", pin)["id"]
    plan = hand.get("/saving-plan?horizon_years=3").json()
    assert plan["this_year"] == []
    assert [(one["id"], one["kept"]) for one in plan["pins"]] == [(number, True)]


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("/saving-plan?horizon_years=0", "horizon_years"),
        ("/saving-plan?horizon_years=99", "horizon_years"),
        ("/saving-plan?time_limit_s=nan", "time_limit_s"),
        ("/saving-plan?horizn_years=3", "horizn_years"),
        ("/supplies?kind=carrot", "kind"),
    ],
)
def test_what_cannot_be_asked_is_a_problem_naming_the_field(
    hand: Hand, path: str, field: str
) -> None:
    response = hand.get(path)
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == field


def test_a_plan_nobody_kept_is_not_there(hand: Hand) -> None:
    response = hand.get("/saving-plans/7")
    assert response.status_code == 404
    assert response.json()["errors"][0]["field"] == "id"


def test_supplies_tell_what_to_sow_what_is_lacking_and_what_is_spare(hand: Hand) -> None:
    plenty = hand.variety("radish", "Plenty", plants_wanted=10, reserve_seeds=50)
    hand.lot(5000, variety_id=plenty, harvest_date="2026-09-01")
    none = hand.variety("leek", "None Left", plants_wanted=10)
    answer = hand.get("/supplies").json()
    assert [one["variety"]["id"] for one in answer["sow"]] == [plenty]
    assert [one["variety"]["id"] for one in answer["orders"]] == [none]
    assert [one["variety"]["id"] for one in answer["spare"]] == [plenty]
