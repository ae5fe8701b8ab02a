"""Viability, verdicts, test advice and seed to save over HTTP, of lots ordinary and odd."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from seedbank.science.verdicts.verdict import Verdict
from seedbank.server.api import create_app
from seedbank.settings import Settings
from tests.api.conftest import TODAY, Hand
from tests.sizes import sized

OLD = {"harvest_year": 2008, "acquired_on": "2009-02-01"}
RARE = {"other_keepers": "none", "breeding": "landrace", "plants_wanted": 10}


def recorded(hand: Hand, code: str, good: int, seeds: int, day: str = "2027-01-10") -> None:
    test = {
        "lot": code,
        "started_on": day,
        "finished_on": day,
        "confirmed": True,  # set and counted on one day
        "replicates": [{"seeds_set": seeds, "normal": good}],
    }
    hand.made("/germination-tests/finished", test)


@pytest.fixture
def stock(hand: Hand) -> dict[str, str]:
    """A rare lot nearly dead, a fresh common one, and a dead lot beside a good one."""
    rare = hand.lot(300, variety_id=hand.variety("onion", "A", **RARE), **OLD)
    recorded(hand, rare, 8, 50)
    fresh = hand.lot(5000, variety_id=hand.variety("carrot", "B"), harvest_year=2026)
    two = hand.variety("leek", "C", **RARE)
    dead = hand.lot(300, variety_id=two, **OLD)
    recorded(hand, dead, 0, 50)
    good = hand.lot(9000, variety_id=two, harvest_date="2026-09-01")
    recorded(hand, good, 97, 100)
    return {"rare": rare, "fresh": fresh, "dead": dead, "good": good}


def test_viability_of_a_lot_today_and_on_a_day_asked_about(
    hand: Hand, stock: dict[str, str]
) -> None:
    address = f"/lots/{stock['rare']}/viability"
    today = hand.get(address).json()
    assert (today["lot"], today["now"]["on"]) == (stock["rare"], TODAY.isoformat())
    later = hand.get(f"{address}?on=2030-06-01&threshold_pct=20&threshold_pct=12.5").json()
    assert later["now"]["on"] == "2030-06-01"
    assert later["now"]["median_pct"] < today["now"]["median_pct"]
    names = [threshold["name"] for threshold in later["thresholds"]]
    assert names[-2:] == ["20 % as asked", "12.5 % as asked"]
    assert later["curve"] == today["curve"]
    edges = hand.get(f"{address}?threshold_pct=5e-324&threshold_pct=99.99999999999999").json()
    least, most = edges["thresholds"][-2:]
    assert (least["probability_at_least"], least["crossed_by_95_in_100"]) == (1.0, None)
    assert most["probability_at_least"] == 0.0
    assert most["crossed_by_5_in_100"] is not None


def test_verdicts_on_one_lot_and_on_all_agree(hand: Hand, stock: dict[str, str]) -> None:
    listed = {item["lot"]: item for item in hand.get("/verdicts").json()["items"]}
    assert set(listed) == set(stock.values())
    for name, verdict in {"rare": Verdict.GROW_FOR_SEED, "dead": Verdict.CAN_GO}.items():
        alone = hand.get(f"/lots/{stock[name]}/verdict").json()
        assert alone["verdict"] == listed[stock[name]]["verdict"] == verdict
    assert all(item["reasons"] and item["sources"] for item in listed.values())


def test_verdicts_page_by_page_keep_their_filters(hand: Hand, stock: dict[str, str]) -> None:
    address, seen = "/verdicts?other_keepers=none&limit=1", []
    while address:
        page = hand.get(address).json()
        seen += [item["lot"] for item in page["items"]]
        address = page["next"]
    assert seen[0] == stock["rare"]
    assert sorted(seen) == sorted(stock[name] for name in ("rare", "dead", "good"))
    of_leeks = hand.get("/verdicts?kind=leek&verdict=can-go").json()["items"]
    assert [item["lot"] for item in of_leeks] == [stock["dead"]]


def test_lots_are_listed_by_verdict(hand: Hand, stock: dict[str, str]) -> None:
    by_verdict = {
        verdict: {lot["code"] for lot in hand.get(f"/lots?verdict={verdict}").json()["items"]}
        for verdict in Verdict
    }
    assert by_verdict[Verdict.GROW_FOR_SEED] == {stock["rare"]}
    assert by_verdict[Verdict.CAN_GO] == {stock["dead"]}
    assert sorted(code for codes in by_verdict.values() for code in codes) == sorted(stock.values())
    assert hand.get("/lots?verdict=can-go&kind=onion").json()["items"] == []


def test_test_advice_tells_how_many_seeds_to_spend(hand: Hand, stock: dict[str, str]) -> None:
    answer = hand.get(f"/lots/{stock['fresh']}/test-advice").json()
    assert answer["seeds"] in [size["seeds"] for size in answer["sizes"]]
    assert answer["seeds_spare"] == 5000
    # Certainly dead, and kept only for its name: nothing a test says would change that.
    assert hand.get(f"/lots/{stock['dead']}/test-advice").json()["seeds"] == 0


def test_seed_to_save_lists_the_rare_unless_told_otherwise(
    hand: Hand, stock: dict[str, str]
) -> None:
    answer = hand.get("/seed-to-save").json()
    assert answer["on"] == TODAY.isoformat()
    assert stock["rare"] in [item["sow_lot"] for item in answer["items"]]
    assert stock["dead"] not in [item["sow_lot"] for item in answer["items"]]
    common = hand.get("/seed-to-save?other_keepers=many").json()
    assert {item["other_keepers"] for item in common["items"]} <= {"many"}


def test_an_empty_collection_is_answered_with_empty_lists(hand: Hand) -> None:
    assert hand.get("/verdicts").json() == {"items": [], "next": None, "near": False}
    assert hand.get("/seed-to-save").json()["items"] == []
    assert hand.get("/lots?verdict=sow-as-usual").json()["items"] == []


@pytest.mark.parametrize(
    ("query", "field", "value"),
    [
        ("/lots/{code}/viability?on=tomorrow", "on", "tomorrow"),
        ("/lots/{code}/viability?on=1899-12-31", "on", "1899-12-31"),
        ("/lots/{code}/viability?threshold_pct=0", "threshold_pct", "0"),
        ("/lots/{code}/viability?threshold_pct=100", "threshold_pct", "100"),
        ("/lots/{code}/viability?threshold_pct=nan", "threshold_pct", "nan"),
        ("/lots/{code}/viability?threshold_pct=50&threshold_pct=much", "threshold_pct", "much"),
        ("/lots?verdict=burn", "verdict", "burn"),
        ("/verdicts?verdict=burn", "verdict", "burn"),
        ("/verdicts?variety=0", "variety", "0"),
        ("/verdicts?other_keepers=lots", "other_keepers", "lots"),
        ("/verdicts?limit=0", "limit", "0"),
        ("/verdicts?cursor=zzz", "cursor", "zzz"),
        ("/seed-to-save?other_keepers=none&other_keepers=lots", "other_keepers", "lots"),
    ],
)
def test_a_question_that_makes_no_sense_is_told_what_to_mend(
    hand: Hand, query: str, field: str, value: str
) -> None:
    response = hand.get(query.format(code=hand.lot()))
    assert response.status_code == 422
    assert response.headers["Content-Type"] == "application/problem+json"
    fault = response.json()["errors"][0]
    assert fault["field"].split("[")[0] == field
    assert str(fault["value"]) == value
    assert fault["mend"]


def test_more_than_ten_thresholds_are_too_many(hand: Hand) -> None:
    query = "&".join(f"threshold_pct={pct}" for pct in range(1, 12))
    response = hand.get(f"/lots/{hand.lot()}/viability?{query}")
    assert response.status_code == 422
    fault = response.json()["errors"][0]
    assert (fault["field"], bool(fault["mend"])) == ("threshold_pct", True)


@pytest.mark.parametrize("what", ["viability", "verdict", "test-advice"])
def test_a_misread_or_unknown_code_is_a_problem(hand: Hand, what: str) -> None:
    misread = hand.get(f"/lots/zz/{what}")
    assert misread.status_code == 422
    known = hand.lot()
    hand.delete(f"/lots/{known}", if_match="*")
    other = next(
        code
        for code in ("00000", "77874", "0R3MY", "4K7PM")
        if code != known and hand.get(f"/lots/{code}").status_code == 404
    )
    missing = hand.get(f"/lots/{other}/{what}")
    assert missing.status_code == 404
    assert missing.headers["Content-Type"] == "application/problem+json"


# -- odd lots --------------------------------------------------------------------------------

DAYS = st.dates(date(1900, 1, 1), TODAY).map(date.isoformat)
TEMPS = st.none() | st.floats(-40, 60).map(lambda t: round(t, 1))
AIR = st.none() | st.floats(1, 99).map(lambda rh: round(rh, 1))
PLACES = st.fixed_dictionaries(
    {
        "temp_winter_c": TEMPS,
        "temp_summer_c": TEMPS,
        "rh_winter_pct": AIR,
        "rh_summer_pct": AIR,
        "seed_moisture_pct": st.none() | st.floats(1, 50).map(lambda m: round(m, 1)),
        "sealed": st.booleans(),
    }
)


@st.composite
def finished_tests(draw: st.DrawFn) -> dict[str, Any]:
    first, last = sorted([draw(DAYS), draw(DAYS)])
    sizes = draw(st.lists(st.integers(1, 60), min_size=1, max_size=4))
    replicates = [{"seeds_set": n, "normal": draw(st.integers(0, n))} for n in sizes]
    return {"started_on": first, "finished_on": last, "replicates": replicates}


@st.composite
def odd_lots(draw: st.DrawFn) -> dict[str, Any]:
    lot: dict[str, Any] = {
        "origin": draw(st.sampled_from(["bought", "self-saved", "gift"])),
        "acquired_on": draw(DAYS),
        "harvest_estimated": draw(st.booleans()),
    }
    when = draw(st.sampled_from(["unknown", "year", "date"]))
    if when == "year":
        lot["harvest_year"] = draw(st.integers(1800, int(lot["acquired_on"][:4])))
    elif when == "date":
        lot["harvest_date"], lot["acquired_on"] = sorted([draw(DAYS), lot["acquired_on"]])
    return {
        "lot": lot,
        "seeds": draw(st.sampled_from([1, 2, 7, 60, 10_000_000])),
        "forget_purchase": draw(st.booleans()),
        "kind": draw(st.sampled_from(["carrot", "onion", "chayote", "flax", "sea-beet"])),
        "variety": {
            "breeding": draw(st.sampled_from(["f1", "unknown", "landrace"])),
            "other_keepers": draw(st.sampled_from(["none", "few", "many"])),
            "reserve_seeds": draw(st.sampled_from([0, 50, 10_000_000])),
        },
        "stays": draw(st.lists(st.tuples(DAYS, PLACES), max_size=3)),
        "tests": draw(st.lists(finished_tests(), max_size=3)),
        "on": draw(st.dates(date(1900, 1, 1), date(2199, 12, 31)).map(date.isoformat)),
    }


@pytest.fixture(scope="module")
def lasting_hand(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hand]:
    """One application for many odd lots."""
    url = f"sqlite:///{tmp_path_factory.mktemp('odd') / 'odd.db'}"
    app = create_app(Settings(database_url=url, today=TODAY))
    with TestClient(app, raise_server_exceptions=False) as client:
        hand = Hand(app, client)
        hand.made("/kinds", {"slug": "sea-beet", "name": "Sea beet"})
        yield hand
    app.state.wiring.writing.kw["bind"].dispose()


def set_up(hand: Hand, odd: dict[str, Any]) -> str:
    number = next(hand._keys)
    variety = hand.variety(odd["kind"], f"Odd {number}", **odd["variety"])
    code = hand.lot(odd["seeds"], variety_id=variety, **odd["lot"])
    if odd["forget_purchase"]:
        hand.patch(f"/lots/{code}", {"acquired_on": None}, if_match="*")
    for turn, (day, conditions) in enumerate(odd["stays"]):
        place = hand.made("/places", {"name": f"Odd {number} {turn}", **conditions})["id"]
        hand.made(f"/lots/{code}/stays", {"place_id": place, "from_date": day})
    for test in odd["tests"]:
        said = hand.post("/germination-tests/finished", {"lot": code, "confirmed": True, **test})
        if test["started_on"] < harvested(odd["lot"]):
            assert said.status_code == 422, said.text
        else:
            assert said.status_code in (201, 409), said.text  # 409: not so many seeds
    return code


def harvested(lot: dict[str, Any]) -> str:
    """First day the lot's seed can have been there, if that is known for certain."""
    if lot.get("harvest_estimated"):
        return ""
    year = lot.get("harvest_year")
    return lot.get("harvest_date") or (f"{year:04}-01-01" if year else "")


@settings(
    max_examples=sized(6, 12),
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(odd=odd_lots())
def test_however_odd_a_lot_is_its_advice_is_answered(
    lasting_hand: Hand, odd: dict[str, Any]
) -> None:
    code = set_up(lasting_hand, odd)
    seen = lasting_hand.get(f"/lots/{code}/viability?on={odd['on']}&threshold_pct=99.99")
    assert seen.status_code == 200, seen.text
    answer = seen.json()
    for point in (answer["now"], answer["at_harvest"], *answer["curve"]):
        band = [
            point["low_90_pct"], point["low_50_pct"], point["median_pct"], point["high_50_pct"],
            point["high_90_pct"],
        ]  # fmt: skip
        assert band[0] >= 0
        assert band[-1] <= 100
        assert band == sorted(band)
    assert TODAY.isoformat() in [point["on"] for point in answer["curve"]]
    retest = answer["retest"]
    harvested = answer["at_harvest"]["on"]
    assert retest["due_on"] is None or retest["due_on"] > harvested
    assert retest["text"]
    assert not {"inf", "nan"} & set(retest["text"].lower().split())
    for what in ("verdict", "test-advice"):
        said = lasting_hand.get(f"/lots/{code}/{what}")
        assert said.status_code == 200, said.text
    assert said.json()["seeds"] <= said.json()["seeds_spare"]


def test_the_tests_most_worth_their_evening_are_suggested(
    hand: Hand, stock: dict[str, str]
) -> None:
    answer = hand.get("/test-suggestions?evenings=1&towels=5").json()
    assert len(answer["items"]) <= 5
    assert {one["lot"] for one in answer["items"]} <= set(stock.values())
    assert answer["worth_rows"] <= answer["worth_of_knowing_rows"]
    assert hand.get("/test-suggestions?evenings=0").status_code == 422
