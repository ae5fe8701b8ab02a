"""``seedbank mix``: seed of several lots mixed at the terminal."""

import json
from pathlib import Path


def test_lots_are_mixed_by_seeds_or_by_shares(type_in, demo: Path) -> None:
    said = type_in("mix", "Winter mix", "YMY4K:30", "26YPM:10", "--database", demo)
    assert said.code == 0, said.err
    assert "40 seeds" in said.out
    assert "75 % of lot YMY4K" in said.out
    words = ("mix", "Winter mix", "YMY4K:60%", "26YPM:40%", "--seeds", 50)
    made = json.loads(type_in(*words, "--json", "--database", demo).out)
    assert [one["share"] for one in made["mixture"]] == [0.6, 0.4]
    assert made["amount"]["seeds"] == 50


def test_what_cannot_be_mixed_is_refused_with_a_mend(type_in, demo: Path) -> None:
    wrong = type_in("mix", "Winter mix", "YMY4K", "26YPM:10", "--database", demo)
    assert (wrong.code, "Write it like 4K7PM:40" in wrong.err) == (2, True)
    without = type_in("mix", "Winter mix", "YMY4K:60%", "26YPM:40%", "--database", demo)
    assert (without.code, "how many seeds" in without.err) == (2, True)


def test_how_much_of_a_mixture_to_sow_is_asked_as_of_a_lot(type_in, demo: Path) -> None:
    words = ("mix", "Winter mix", "YMY4K:300", "26YPM:40", "--json", "--database", demo)
    code = json.loads(type_in(*words).out)["code"]
    ask = ("sow", code, "--plants", 25, "--method", "row", "--database", demo)
    found = json.loads(type_in(*ask, "--json").out)
    said = type_in(*ask)
    assert said.code == 0, said.err
    assert f"Sow {found['seeds']} seeds of lot {code}" in " ".join(said.out.split())
    assert "of YMY4K" in said.out
