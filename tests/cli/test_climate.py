"""``seedbank climate`` and ``kind-year``."""

import json
import shutil
from pathlib import Path

MONTHS = "4.5 4.7 6.6 8.9 12.2 15.2 17.4 17.1 14.5 11.0 7.3 4.8"


def test_a_climate_is_told_and_a_kinds_year_follows(type_in, demo: Path, tmp_path: Path) -> None:
    garden = Path(shutil.copy(demo, tmp_path / "garden.sqlite"))
    told = type_in("climate", "--months", MONTHS, "--database", garden)
    assert told.code == 0, told.err
    asked = ("kind-year", "carrot", "--on", "2027-04-20", "--database", garden)
    answer = json.loads(type_in(*asked, "--json").out)
    assert (answer["known"], answer["sow"][0]["state"]) == ("months", "open")
    assert "In the open" in type_in(*asked).out
    named = type_in("kind", "season", "courgette", "--database", garden)
    assert (named.code, "In the open" in named.out) == (0, True)
    year = json.loads(type_in("kind", "season", "--database", garden, "--json").out)
    said = type_in("kind", "season", "--database", garden).out
    assert year["known"] == "months"
    assert year["crops"]
    assert "17 Mar to" in said
    assert "keep apart" in said
    sow = ("sow", "YMY4K", "--plants", "40", "--sow-on", "2027-11-20", "--database", garden)
    assert "Too late in the open; next from 2028-03-17." in type_in(*sow).out
    odd = type_in("climate", "--months", "1 2 3", "--database", garden)
    assert odd.code == 2
    assert "not twelve temperatures" in " ".join(odd.err.split())


def test_a_site_has_a_climate_of_its_own(type_in, demo: Path, tmp_path: Path) -> None:
    garden = Path(shutil.copy(demo, tmp_path / "garden.sqlite"))
    at = ("--site", "1", "--database", garden)
    before = json.loads(type_in("climate", "--json", "--database", garden).out)
    assert json.loads(type_in("climate", "--json", *at).out)["own"] is False
    assert type_in("climate", "--months", MONTHS, *at).code == 0
    site = json.loads(type_in("climate", "--json", *at).out)
    assert (site["site_id"], site["own"], site["known"]) == (1, True, "months")
    assert site["monthly_c"] != before["monthly_c"]
    assert json.loads(type_in("climate", "--json", "--database", garden).out) == before
    odd = type_in("climate", "--site", "99", "--database", garden)
    assert odd.code == 2
