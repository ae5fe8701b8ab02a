import json
from pathlib import Path

import pytest

# A six-year-old carrot lot of the demonstration.
LOT = "YMY4K"


def test_an_old_lot_is_sown_thicker_than_the_plants_wanted(type_in, demo: Path) -> None:
    words = ("--plants", 40, "--method", "row", "--soil-temp-c", 11, "--sow-on", "2027-04-10")
    said = type_in("sow", LOT, *words, "--database", demo)
    assert said.code == 0, said.err
    assert "40 plants of Wennabeck Stumpling (carrot) from lot YMY4K" in said.out
    assert "seeds a metre" in said.out
    for part in ("Why", "Mind", "Sources"):
        assert f"\n{part}\n" in said.out
    told = json.loads(type_in("sow", LOT, *words, "--json", "--database", demo).out)
    assert told["enough"]
    assert told["seeds"] > 40 / (told["viability"]["high_pct"] / 100)
    assert f"Sow {told['seeds']} seeds" in said.out


def test_more_certainty_takes_more_seed(type_in, demo: Path) -> None:
    def seeds(confidence: str) -> int:
        words = ("--plants", 20, "--confidence", confidence, "--json", "--database", demo)
        return int(json.loads(type_in("sow", LOT, *words).out)["seeds"])

    assert seeds("0.6") < seeds("0.9") < seeds("0.97")


@pytest.mark.parametrize("method", ["row", "station", "module", "broadcast"])
def test_each_method_has_its_own_layout(type_in, demo: Path, method: str) -> None:
    said = type_in("sow", LOT, "--plants", 12, "--method", method, "--database", demo)
    assert said.code == 0, said.err
    layout = {"row": "row", "station": "stations", "module": "cells", "broadcast": "bed"}[method]
    assert f"\n{layout} " in said.out


def test_a_dying_lot_says_what_it_can_give_and_what_else_to_do(type_in, demo: Path) -> None:
    said = type_in("sow", "YX62H", "--plants", 30, "--database", demo)
    assert said.code == 0, said.err
    assert "Test first or get fresh seed" in said.out
    assert "\nInstead\n" in said.out
    surer = type_in("sow", "YX62H", "--plants", 30, "--confidence", 0.9, "--database", demo)
    assert "Too little" in surer.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--plants", "0"], "plants 0: Give 1 or more.\n"),
        (["--confidence", "2"], "confidence 2.0: Give 0.99 or less.\n"),
        (["--sow-on", "soon"], "sow_on 'soon': Write the date"),
        (["--sow-on", "2027-01-01"], "sow_on"),
        (["--method", "toss"], "'toss' is not one of"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(type_in, demo: Path, words, says) -> None:
    said = type_in("sow", LOT, "--plants", "10", *words, "--database", demo)
    assert said.code == 2
    assert says in said.err
    assert said.err.count("\n") == 1


def test_the_reserve_of_a_rare_variety_is_left_alone_unless_asked_for(type_in, demo: Path) -> None:
    said = type_in("sow", "6X3K8", "--plants", 30, "--database", demo)
    assert said.code == 2
    assert "reserve of a rare variety" in said.err
    assert type_in("sow", "6X3K8", "--plants", 30, "--use-reserve", "--database", demo).code == 0
