"""The climate of the garden and its sites, from a folder and back from an archive."""

from pathlib import Path

import pytest

from seedbank.climate.state_climate import show_climate
from seedbank.interchange.folder.import_collection import ImportRefused, import_collection
from tests.use_cases.conftest import Garden

MONTHS = "4.5;4.7;6.6;8.9;12.2;15.2;17.4;17.1;14.5;11;7.3;4.8"
COLD = "-4;-3;1;6;11;15;17;16;12;7;2;-2"
HEAD = "site,monthly_c,last_frost_day,first_frost_day,hemisphere,soil_shift_c,source\n"


def taken(garden: Garden, folder: Path, climate: str, name: str = "garden_climate.csv") -> int:
    (folder / "site.csv").write_text("name\nTop field\n", encoding="utf-8")
    (folder / name).write_text(climate, encoding="utf-8")
    return import_collection(garden.session, folder, garden.now).climates


@pytest.mark.parametrize("name", ["garden_climate.csv", "climate.csv"])
def test_the_climates_of_a_folder_are_taken_in(garden: Garden, tmp_path: Path, name: str) -> None:
    lines = f"{HEAD},{MONTHS},121,298,,0.5,weather service\nTop field,{COLD},,,,,\n"
    assert taken(garden, tmp_path, lines, name) == 2
    here, field = show_climate(garden.session), show_climate(garden.session, 1)
    assert here.monthly_c == [float(one) for one in MONTHS.split(";")]
    assert (here.last_frost_day, here.soil_shift_c, here.source) == (121, 0.5, "weather service")
    assert (field.own, field.known) == (True, "months")
    assert field.monthly_c is not None
    assert field.monthly_c[0] == -4.0


def test_frost_dates_alone_will_do_and_what_is_told_already_stays(
    garden: Garden, tmp_path: Path
) -> None:
    assert taken(garden, tmp_path, "last_frost_day,first_frost_day\n121,298\n") == 1
    before = garden.dump()
    assert taken(garden, tmp_path, f"{HEAD},{MONTHS},,,,,\n") == 0
    assert garden.dump() == before
    assert show_climate(garden.session).known == "frost-dates"


@pytest.mark.parametrize(
    ("line", "column"),
    [
        (",1;2;3,,,,,", "monthly_c"),
        (",1;2;3;4;5;6;7;8;9;10;11;warm,,,,,", "monthly_c"),
        (f",{MONTHS},400,,,,", "last_frost_day"),
        (f"Nowhere,{MONTHS},,,,,", "site"),
        (",,,,east,,", "hemisphere"),
        (f",{MONTHS},,,,,\n,{MONTHS},,,,,", "site"),
    ],
)
def test_what_is_no_climate_is_told_by_line_and_column(
    garden: Garden, tmp_path: Path, line: str, column: str
) -> None:
    with pytest.raises(ImportRefused) as refused:
        taken(garden, tmp_path, f"{HEAD}{line}\n")
    problem = refused.value.problems[0]
    assert (problem.file, problem.column) == ("garden_climate.csv", column)
    assert problem.mend
    assert show_climate(garden.session).known == "nothing"
