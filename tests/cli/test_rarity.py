"""``seedbank rarity``: what nobody has said is listed, and said of many at once."""

import json
from pathlib import Path

FOLDER = "kind,variety,other_keepers\ncarrot,Amber,\ncarrot,Dusk,\npea,Told,few\n"


def test_what_is_not_known_is_listed_and_told_of_many_at_once(type_in, tmp_path: Path) -> None:
    (tmp_path / "variety.csv").write_text(FOLDER.replace("variety,", "name,"))
    file = tmp_path / "x.sqlite"
    assert type_in("import", tmp_path, "--database", file).code == 0
    said = type_in("rarity", "--json", "--database", file)
    assert said.code == 0, said.err
    untold = {one["name"]: one["id"] for one in json.loads(said.out)}
    assert set(untold) == {"Amber", "Dusk"}
    listed = " ".join(type_in("rarity", "--database", file).out.split())
    assert "Of these nobody has said" in listed
    assert "Amber carrot" in listed
    told = type_in("rarity", "--few", untold["Amber"], "--none", untold["Dusk"], "--database", file)
    assert told.code == 0, told.err
    assert "That is kept of 2 varieties." in " ".join(told.out.split())
    assert "It is on record of every variety" in " ".join(told.out.split())


def test_a_number_no_variety_has_changes_nothing(type_in, tmp_path: Path) -> None:
    (tmp_path / "variety.csv").write_text("kind,name\ncarrot,Amber\n")
    file = tmp_path / "x.sqlite"
    assert type_in("import", tmp_path, "--database", file).code == 0
    refused = type_in("rarity", "--few", 1, "--many", 99, "--database", file)
    assert refused.code == 2
    assert len(json.loads(type_in("rarity", "--json", "--database", file).out)) == 1
