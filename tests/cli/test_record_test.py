import json
from pathlib import Path

import pytest

# A carrot lot of the demonstration with seed to spare.
LOT = "YMY4K"
STARTED = ("--started-on", "2027-02-06")


def test_a_towel_is_recorded_and_says_what_it_means(type_in, demo: Path) -> None:
    said = type_in("test", LOT, *STARTED, "--set", 50, "--normal", 41, "--database", demo)
    assert said.code == 0, said.err
    assert "Wennabeck Stumpling (carrot): 2027-02-06 to 2027-02-20." in said.out
    # Jeffreys' interval of 41 in 50: scipy's beta.ppf([.05, .95], 41.5, 9.5) = 0.718, 0.895.
    assert "82 % (72 to 90)" in said.out
    assert "Sources" in said.out


def test_replicates_are_kept_apart(type_in, demo: Path) -> None:
    words = ("--rep", "25:20,1,0,0,4", "--rep", "25:18", "--temp-c", 21, "--dark")
    said = type_in("test", LOT, *STARTED, *words, "--database", demo, "--json")
    assert said.code == 0, said.err
    test = json.loads(said.out)
    assert [(r["seeds_set"], r["normal"], r["dead"]) for r in test["replicates"]] == [
        (25, 20, 4),
        (25, 18, 7),
    ]
    assert (test["temp_c"], test["in_light"]) == (21.0, False)
    assert test["finished_on"] == "2027-02-20"
    assert test["evaluation"]["germination"]["pct"] == 76.0


def test_the_seed_leaves_the_lot(type_in, demo: Path) -> None:
    towel = ("--rep", "10000:0", "--rep", "10000:0", "--database", demo)
    assert type_in("test", LOT, *STARTED, *towel).code == 0
    again = type_in("test", LOT, *STARTED, *towel)
    assert again.code == 2
    assert "replicates: Lot YMY4K holds 1,366 seeds, so 20,000 can't be taken." in again.err


def test_what_was_doubted_is_taken_with_yes(type_in, demo: Path) -> None:
    words = ("test", LOT, "--started-on", "2027-02-20", "--set", 20, "--normal", 9)
    doubted = type_in(*words, "--database", demo)
    assert doubted.code == 2
    assert doubted.err.startswith("finished_on '2027-02-20': 9 seedlings on the day the seed was")
    assert doubted.err.rstrip().endswith("If it is so, say --yes.")
    assert type_in(*words, "--yes", "--database", demo).code == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--set", "5"], "normal: The outcome is missing. Say how many seeds were set"),
        (["--normal", "5"], "set: The outcome is missing. Say how many seeds were set"),
        (["--set", "5", "--normal", "6"], "6 seeds are judged but 5 were set"),
        (["--set", "5", "--normal", "six"], "'six'"),
        (["--rep", "5;4"], "rep can't be 5;4. Write it like 25:20,1,0,0,4."),
        (["--rep", "5:1,0,0,0,4,9"], "rep can't be 5:1,0,0,0,4,9. Write it like"),
        (["--rep", "5:1", "--set", "5"], "Give --rep, or --set with --normal, not both."),
        (["--rep", "5:1", "--temp-c", "99"], "temp_c 99.0: Give 60 or less."),
        (["--rep", "5:1", "--finished-on", "2027-03-01"], "finished_on"),
        (["--rep", "5:1", "--on", "toast"], "'toast' is not one of"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(type_in, demo: Path, words, says) -> None:
    said = type_in("test", LOT, *STARTED, "--database", demo, *words)
    assert said.code == 2
    assert says in said.err
    assert said.err.count("\n") == 1
    assert said.out == ""


def test_a_day_is_written_year_month_day(type_in, demo: Path) -> None:
    said = type_in("test", LOT, "--started-on", "6 Feb", "--rep", "5:1", "--database", demo)
    assert said.code == 2
    assert said.err == "started_on '6 Feb': Write the date as year-month-day, like 2026-04-19.\n"


def test_a_misread_code_is_caught(type_in, demo: Path) -> None:
    said = type_in("test", "YMY4J", *STARTED, "--rep", "5:1", "--database", demo)
    assert said.code == 2
    assert "lot: Code 'YMY4J'" in said.err


def test_what_went_wrong_is_told_with_the_test_or_later(type_in, demo: Path) -> None:
    words = ("test", LOT, *STARTED, "--set", 25, "--normal", 2, "--database", demo)
    said = type_in(*words, "--fault", "mould")
    assert said.code == 0, said.err
    assert "It went wrong (mould)" in " ".join(said.out.split())
    number = json.loads(type_in(*words, "--json").out)["id"]
    later = type_in("test-fault", number, "too-cold", "--database", demo, "--json")
    assert json.loads(later.out)["fault"] == "too-cold"
    nothing = type_in("test-fault", number, "--database", demo)
    assert nothing.code == 0, nothing.err
    assert "It went wrong" not in nothing.out


def test_tests_that_contradict_each_other_are_told(type_in, demo: Path) -> None:
    words = ("test", LOT, *STARTED, "--set", 50, "--database", demo)
    assert "contradict" not in type_in(*words, "--normal", 47).out
    said = type_in(*words, "--normal", 9)
    assert "Two tests that can't both hold" in said.out
    assert "contradict each other" in said.out
