"""``seedbank kind``: a kind of one's own in one command."""

import json
from pathlib import Path


def test_a_kind_is_added_by_its_name_and_three_answers(type_in, empty: Path) -> None:
    answers = ("--kept-as", "tubers", "--keeps-years", "0.8", "--not-poisonous")
    said = type_in("kind", "Oca", *answers, "--database", empty)
    assert said.code == 0, said.err
    assert "Oca is added, as oca" in " ".join(said.out.split())
    again = type_in("kind", "Oca", "--database", empty)
    assert (again.code, "already is a kind oca" in again.err) == (2, True)


def test_other_facts_come_along_with_their_source(type_in, empty: Path) -> None:
    more = ("--fact", "botanical=Sium sisarum", "--fact", "depth_cm=2", "--source", "a flora")
    said = type_in("kind", "Skirret", *more, "--json", "--database", empty)
    facts = {one["name"]: one for one in json.loads(said.out)["facts"]}
    assert facts["botanical"]["value"] == "Sium sisarum"
    assert facts["depth_cm"]["source"] == {"text": "a flora", "confidence": "own"}
    wrong = type_in("kind", "Oca", "--fact", "colour=red", "--database", empty)
    assert wrong.code == 2
