"""/lots/{code}/sowing-advice, /varieties/{id}/sowing-advice, /forecast-record."""

from typing import Any

import pytest

from tests.api.conftest import Hand


def test_a_lot_is_advised_on_with_intervals_reasons_and_sources(hand: Hand) -> None:
    code = hand.lot(900, harvest_year=2026)
    path = f"/lots/{code}/sowing-advice?plants=20&method=row&soil_temp_c=12&sow_on=2027-04-10"
    response = hand.get(path)
    assert response.status_code == 200
    answer = response.json()
    assert (answer["lot"], answer["method"], answer["plants_wanted"]) == (code, "row", 20)
    assert answer["seeds"] >= 20
    for share in ("chance_of_enough", "viability", "ready", "emergence"):
        told = answer[share]
        assert told["low_pct"] <= told["pct"] <= told["high_pct"]
        assert told["level_pct"] == 90
    assert answer["reasons"]
    assert {source["confidence"] for source in answer["sources"]} >= {"read", "memory"}


def test_asking_again_is_answered_the_same_until_something_is_sown(hand: Hand) -> None:
    code = hand.lot(900, harvest_year=2026)
    path = f"/lots/{code}/sowing-advice?plants=20&method=row"
    first = hand.get(path).json()
    assert hand.get(path).json() == first
    body = {"lot": code, "seeds_sown": 100, "method": "row", "sown_on": "2027-02-01"}
    address = hand.post("/sowings", body).headers["Location"]
    hand.made(f"{address}/emergence", {"on_date": "2027-02-20", "units_emerged": 18})
    hand.made(f"{address}/finish", {})
    learned = hand.get(path).json()
    assert learned["emergence"]["pct"] < first["emergence"]["pct"]
    assert any("1 sowing of yours came up worse" in one["text"] for one in learned["reasons"])


def test_a_variety_is_advised_on_oldest_lot_first(hand: Hand) -> None:
    number = hand.variety(plants_wanted=30)
    young = hand.lot(500, variety_id=number, harvest_year=2026)
    old = hand.lot(40, variety_id=number, harvest_year=2024)
    answer = hand.get(f"/varieties/{number}/sowing-advice?method=row").json()
    assert [one["lot"] for one in answer["lots"]] == [old, young]
    assert answer["seeds"] == sum(one["seeds"] for one in answer["lots"])


@pytest.mark.parametrize(
    ("query", "field", "status"),
    [
        ("", "plants", 422),
        ("?plants=0", "plants", 422),
        ("?plants=20&confidence=1.5", "confidence", 422),
        ("?plants=20&method=flung", "method", 422),
        ("?plants=20&sow_on=2027-02-28", "sow_on", 422),
        ("?plants=20&sow_on=tomorrow", "sow_on", 422),
        ("?plants=20&method=row&cells=9", "cells", 422),
        ("?plants=20&plnats=20", "plnats", 422),
        ("?plants=20&soil_temp_c=nan", "soil_temp_c", 422),
    ],
)
def test_what_cannot_be_asked_is_a_problem_naming_the_field(
    hand: Hand, query: str, field: str, status: int
) -> None:
    response = hand.get(f"/lots/{hand.lot()}/sowing-advice{query}")
    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    assert response.json()["errors"][0]["field"] == field


def test_what_is_not_there_or_holds_nothing_is_a_problem(hand: Hand) -> None:
    assert hand.get("/varieties/999/sowing-advice?plants=3").status_code == 404
    code = hand.lot(40)
    hand.made(f"/lots/{code}/stock-takes", {"seeds": 0})
    response = hand.get(f"/lots/{code}/sowing-advice?plants=3")
    assert response.status_code == 409
    assert "holds no seed" in response.json()["detail"]


def test_the_forecast_record_counts_the_sowings_it_judges(hand: Hand) -> None:
    empty = hand.get("/forecast-record").json()
    assert (empty["sowings"], empty["inside_90"], empty["items"]) == (0, None, [])
    body: dict[str, Any] = {"lot": hand.lot(250), "seeds_sown": 100, "method": "row"}
    address = hand.post("/sowings", body | {"sown_on": "2027-02-01"}).headers["Location"]
    hand.made(f"{address}/emergence", {"on_date": "2027-02-20", "units_emerged": 50})
    hand.made(f"{address}/finish", {})
    record = hand.get("/forecast-record").json()
    assert record["sowings"] == 1
    assert record["items"][0]["emerged"] == 50
    assert record["inside_90"]["low_pct"] < record["inside_90"]["high_pct"]
