"""Sites, gear, what flowers and seed crops from CSV files, all of it or nothing."""

from pathlib import Path

import pytest

from seedbank.interchange.folder.import_collection import ImportRefused, import_collection
from seedbank.saving.show_seed_crops import show_seed_crop
from seedbank.saving.tables import all_distances
from tests.use_cases.conftest import Garden

GOOD = {
    "varieties.csv": "kind,variety\nbeet,Emberroot\nchard,Silverspine\n",
    "lots.csv": "label,kind,variety,origin,harvest_date,purity,purity_note\n"
    "old,beet,Emberroot,gift,,,\n"
    "new,beet,Emberroot,self-saved,2026-08-20,risk,Risk of crossing.\n",
    "sites.csv": "site,seed_bed_m2,other_sites,metres\nHere,14,There,180\nThere,22,,\n",
    "gear.csv": "gear,sort,pieces,covers_m2\ncages,cage,3,1.8\n",
    "flowering.csv": "year,site,kind,variety,what,distance_m,from_date\n"
    "2027,Here,chard,Silverspine,left-to-run,,2027-06-10\n"
    "2027,There,beet,,neighbour,320,\n",
    "seed_crops.csv": "kind,variety,site,flower_year,purpose,planned_on,lot,isolation,gear,"
    "harvested_on,result_lot,parents_started,parents_kept\n"
    "beet,Emberroot,Here,2026,keep,2025-02-01,old,cage,cages,2026-08-20,new,20,15\n",
}


def write(folder: Path, **changed: str) -> Path:
    for name, text in GOOD.items():
        stem = name.removesuffix(".csv")
        (folder / name).write_text(changed.get(stem, text), encoding="utf-8")
    return folder


def test_everything_of_a_seed_saving_garden_is_taken_in(garden: Garden, tmp_path: Path) -> None:
    report = import_collection(garden.session, write(tmp_path), garden.now)
    assert (report.sites, report.gear, report.flowering, report.seed_crops) == (2, 1, 2, 1)
    assert list(all_distances(garden.session).values()) == [180.0]
    crop = show_seed_crop(garden.session, 1)
    assert (crop.stage, crop.parents_kept, crop.gear and crop.gear.name) == (
        "harvested",
        15,
        "cages",
    )
    assert crop.result_lot is not None


def test_the_same_sites_gear_and_flowers_are_not_noted_twice(
    garden: Garden, tmp_path: Path
) -> None:
    import_collection(garden.session, write(tmp_path), garden.now)
    for name in ("lots.csv", "seed_crops.csv"):
        (tmp_path / name).unlink()
    before = garden.dump()
    again = import_collection(garden.session, tmp_path, garden.now)
    assert (again.sites, again.gear, again.flowering) == (0, 0, 0)
    assert garden.dump() == before


@pytest.mark.parametrize(
    ("file", "old", "new", "column"),
    [
        ("sites", "There,180", "There,", ""),
        ("sites", "There,180", "Nowhere,180", "other_sites"),
        ("sites", "There,180", "Here,180", "other_sites"),
        ("gear", "cages,cage", "cages,fence", "sort"),
        ("flowering", "Here,chard", "Nowhere,chard", "site"),
        ("flowering", "left-to-run,,", "left-to-run,5,", "distance_m"),
        ("flowering", "chard,Silverspine", "chard,Emberroot", "variety"),
        ("seed_crops", ",old,", ",nothing,", "lot"),
        ("seed_crops", "cage,cages", "cage,bags", "gear"),
        ("seed_crops", "cage,cages", "distance,cages", "gear"),
        ("seed_crops", "20,15", "20,21", "parents_kept"),
        ("seed_crops", "2026-08-20,new", ",new", "harvested_on"),
        ("seed_crops", "2025-02-01", "2027-03-02", "planned_on"),
        ("seed_crops", "2026-08-20,new", "2025-06-30,new", "harvested_on"),  # flowers in 2026
    ],
)
def test_a_line_that_cannot_be_is_told_and_nothing_is_kept(
    garden: Garden, tmp_path: Path, file: str, old: str, new: str, column: str
) -> None:
    text = GOOD[f"{file}.csv"]
    assert old in text
    before = garden.dump()
    with pytest.raises(ImportRefused) as refused:
        import_collection(
            garden.session, write(tmp_path, **{file: text.replace(old, new)}), garden.now
        )
    assert (f"{file}.csv", column) in {(p.file, p.column) for p in refused.value.problems}
    assert garden.dump() == before


CROP = "kind,variety,site,flower_year,purpose,planned_on,lot,sown_on,parents_kept,"
HISTORY = CROP + "harvested_on,result_lot,failed_on,why_failed\n"


@pytest.mark.parametrize(
    ("told", "column", "mend"),
    [
        ("2025-04-01,,,,,", "sown_on", "harvested"),  # the lot sown is of 10 May 2025
        ("2025-06-01,,,,2025-05-31,voles", "failed_on", "2025-06-01"),
        ("2025-06-01,,,,2025-07-31,no", "why_failed", "3"),
        ("2025-06-01,0,2026-08-20,new,,", "parents_kept", "gave seed"),
    ],
)
def test_what_no_form_of_a_seed_crop_takes_is_refused_by_its_line(
    garden: Garden, tmp_path: Path, told: str, column: str, mend: str
) -> None:
    lots = GOOD["lots.csv"].replace(
        "old,beet,Emberroot,gift,", "old,beet,Emberroot,gift,2025-05-10"
    )
    crop = f"{HISTORY}beet,Emberroot,Here,2026,keep,2025-02-01,old,{told}\n"
    with pytest.raises(ImportRefused) as refused:
        import_collection(garden.session, write(tmp_path, lots=lots, seed_crops=crop), garden.now)
    assert [(p.file, p.column) for p in refused.value.problems] == [("seed_crops.csv", column)]
    assert mend in refused.value.problems[0].mend


@pytest.mark.parametrize(
    ("kind", "fact", "value", "source", "column"),
    [
        ("k" * 81, "depth_cm", "2", "my notes", "kind"),
        ("q", "depth_cm", "2", "my notes", "kind"),
        ("beet", "depth_cm", "51", "my notes", "value"),
        ("beet", "botanical", "b" * 201, "my notes", "value"),
    ],
)
def test_a_kind_or_fact_no_form_takes_is_refused_by_its_line(
    garden: Garden, tmp_path: Path, kind: str, fact: str, value: str, source: str, column: str
) -> None:
    text = f"kind,fact,value,source\n{kind},{fact},{value},{source}\n"
    (tmp_path / "kinds.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ImportRefused) as refused:
        import_collection(garden.session, tmp_path, garden.now)
    assert [(p.line, p.column) for p in refused.value.problems] == [(2, column)]
