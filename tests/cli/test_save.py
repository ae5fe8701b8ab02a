import json
from pathlib import Path

import pytest


def test_rare_varieties_come_rarest_first_with_their_reasons(type_in, demo: Path) -> None:
    said = type_in("save", "--database", demo)
    assert said.code == 0, said.err
    assert said.out.index("Brackwin Dapple") < said.out.index("Yaffelby Oysterwand")
    assert "No more than half is sown" in said.out
    assert "many" not in said.out.split("Loft Tin (common-bean), lot")[0]


def test_programs_get_the_same_answer_with_its_numbers(type_in, demo: Path) -> None:
    said = type_in("save", "--json", "--rarity", "none", "--database", demo)
    items = json.loads(said.out)["items"]
    assert items
    assert {one["other_keepers"] for one in items} == {"none"}
    assert all(one["reasons"] and 0 <= one["probability_now"] <= 1 for one in items)


def test_an_empty_collection_has_nothing_to_save(type_in, empty: Path) -> None:
    said = type_in("save", "--database", empty)
    assert said.code == 0
    assert "The collection holds no lots yet." in said.out


@pytest.mark.parametrize("command", ["save", "plan", "supplies"])
def test_an_empty_collection_is_told_as_empty_and_where_to_begin(
    type_in, empty: Path, command: str
) -> None:
    said = type_in(command, "--database", empty)
    assert said.code == 0
    told = " ".join(said.out.split())
    for words in ("holds no lots yet", "seedbank import", "/take-in", "seedbank demo"):
        assert words in told
    assert "No seed crop needs sowing" not in told
    assert "likely to be lost" not in told
