import json
from pathlib import Path


def test_this_years_crops_come_first_then_why_and_the_years_after(ask_demo) -> None:
    said = ask_demo("plan")
    assert said.code == 0, said.err
    order = [
        "Seed crops to sow in 2027",
        "Keep from flowering",
        "Left exposed",
        "Raise",
        "The years after",
        "What would help",
        "How sure",
        "Sources",
    ]
    places = [said.out.index(title) for title in order]
    assert places == sorted(places)


def test_the_conflict_that_cannot_be_solved_is_exposed_with_a_relief(ask_demo) -> None:
    said = ask_demo("plan", "--json")
    exposed = {one["variety"]["name"]: one for one in json.loads(said.out)["exposed"]}
    pair = {"Durrow Emberroot", "Loftcott Silverspine"}
    assert pair <= set(exposed)
    (late,) = [name for name in pair if "can't be kept apart" in exposed[name]["text"]]
    (rival,) = pair - {late}
    assert rival in exposed[late]["text"]
    assert exposed[late]["relief"]
    relieved = exposed[late]["chance_of_loss_with_relief"]
    assert relieved < exposed[late]["chance_of_loss"]


def test_a_kept_plan_is_the_start_of_the_next(type_in, demo: Path) -> None:
    kept = json.loads(type_in("plan", "--keep", "--json", "--database", demo).out)
    assert kept["id"] == 1
    again = json.loads(type_in("plan", "--json", "--database", demo).out)
    assert again["id"] is None
    assert again["changes"] == 0


def test_a_horizon_out_of_reach_is_refused_in_a_sentence(type_in, demo: Path) -> None:
    said = type_in("plan", "--horizon", "40", "--database", demo)
    assert said.code != 0
    assert "horizon" in said.err
    assert "Traceback" not in said.err


def test_supplies_list_sowings_shortfall_and_spare_seed(ask_demo) -> None:
    said = ask_demo("supplies")
    assert said.code == 0, said.err
    for title in ("Sow for the plants wanted", "Seed to get", "may be given away"):
        assert title in said.out
    lacking = said.out.split("Seed to get")[1]
    assert "Gannerly Bright" in lacking


def test_the_demo_prints_this_years_seed_crops_too(ask_demo) -> None:
    said = ask_demo("demo", "--no-serve")
    year, plan = said.out.split("Seed crops to sow in 2027")
    assert "What needs doing in 2027" in year
    assert "Durrow Emberroot (beet)" in plan.split("Left exposed")[1]


def test_orders_list_packets_with_their_reasons(ask_demo) -> None:
    said = ask_demo("plan", "orders")
    assert said.code == 0, said.err
    assert "Gannerly Bright" in said.out
    assert "to sow gaps again" in said.out
    answer = json.loads(ask_demo("plan", "orders", "--json").out)
    assert answer["items"]
    assert all(one["seeds"] <= one["packets"] * one["packet_seeds"] for one in answer["items"])
