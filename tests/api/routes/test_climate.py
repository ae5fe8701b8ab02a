"""/climate and a kind's season."""

from tests.api.conftest import Hand

MONTHS = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]


def test_a_climate_is_told_read_back_and_told_anew(hand: Hand) -> None:
    nothing = hand.get("/climate")
    assert (nothing.status_code, nothing.json()["known"]) == (200, "nothing")
    told = hand.put("/climate", {"monthly_c": MONTHS}, if_match=nothing.headers["ETag"])
    assert (told.status_code, told.json()["known"]) == (200, "months")
    assert hand.get("/climate").json() == told.json()
    stale = hand.put("/climate", {"last_frost_day": 121}, if_match=nothing.headers["ETag"])
    assert stale.status_code == 412
    assert hand.put("/climate", {"last_frost_day": 121}, if_match=None).status_code == 428


def test_what_cannot_be_a_climate_is_refused(hand: Hand) -> None:
    for body in (
        {"monthly_c": MONTHS[:11]},
        {"monthly_c": [*MONTHS[:11], 99.0]},
        {"last_frost_day": 0},
        {"hemisphere": "east"},
    ):
        assert hand.put("/climate", body, if_match="*").status_code == 422
    assert hand.put("/climate?site=7", {}, if_match="*").status_code == 422
    assert hand.put("/climate/readings", {"csv": "date\n"}, if_match="*").status_code == 422


def test_a_kinds_year_is_told_for_the_garden_and_for_a_site(hand: Hand) -> None:
    hand.made("/sites", {"name": "Up the hill"})
    weeks = hand.get("/kinds/carrot/season").json()
    assert (weeks["sow"], weeks["sow_in_weeks"]["code"]) == ([], "sow-in-weeks")
    hand.put("/climate", {"monthly_c": MONTHS}, if_match="*")
    colder = [month - 3.0 for month in MONTHS]
    hand.put("/climate?site=1", {"monthly_c": colder}, if_match="*")
    here = hand.get("/kinds/carrot/season?on=2027-04-20").json()
    there = hand.get("/kinds/carrot/season?on=2027-04-20&site=1").json()
    assert here["sow"][0]["windows"][0]["from_day"] < there["sow"][0]["windows"][0]["from_day"]
    assert here["sow"][0]["days_to_half"] < there["sow"][0]["days_to_half"]
    assert hand.get("/kinds/nonesuch/season").status_code == 404
    assert hand.get("/kinds/carrot/season?site=9").status_code == 422


def test_a_varietys_season_is_its_own(hand: Hand) -> None:
    hand.put("/climate", {"monthly_c": MONTHS}, if_match="*")
    hand.variety("carrot", "Early Spear", season="early")
    early = hand.get("/varieties/1/season?on=2027-04-20").json()
    plain = hand.get("/kinds/carrot/season?on=2027-04-20").json()
    asked = hand.get("/kinds/carrot/season?on=2027-04-20&variety_season=early").json()
    assert early == asked
    assert early["sow"][0]["windows"] != plain["sow"][0]["windows"]


def test_the_year_has_a_line_for_each_kind_in_stock_once_a_climate_is_told(hand: Hand) -> None:
    assert hand.get("/year").json()["known"] == "nothing"
    hand.put("/climate", {"monthly_c": MONTHS}, if_match="*")
    answer = hand.get("/year").json()
    assert (answer["known"], answer["remarks"]) == ("months", [])
    assert all(one["kind"] and one["varieties"] for one in answer["crops"])
