"""Make the demo collection: a keeper's seed tin at Overwenna, in CSV files like anyone's own.

Run ``python demo_data/make_demo.py [folder]`` (numpy and scipy needed); without a folder the CSV
files beside this script are written anew, byte for byte the same each time.

The valley, the village, its people, its merchants and every variety name are invented; the crop
kinds are real. scenario.md tells the story. What came when, from whom and where it was kept is
written by hand in story/collection.txt; how each kind ages is in story/kinds.csv. From these the
true state of every lot is simulated (demo_truth.py: the published viability equation along the
lot's real places), and its tests and sowings are drawn from that truth (demo_tests.py,
demo_sowings.py). So a lot
that stood in the shed tests worse than its sister from the drawer, and comes up worse still in
cold soil. Of the truth only what a keeper sees reaches the CSV files.
"""

import csv
import sys
from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path

from demo_life import Life, Row, begin
from demo_saving import climate, flowering, gear, purity, seed_crops, sites
from demo_story import VarietyStory, read_story
from demo_truth import Air, KindTruth, read_kinds
from demo_years import live

HERE = Path(__file__).resolve().parent

# Short name in the story: (name, known to the keeper?, the truth, sealed, notes).
PLACES: dict[str, tuple[str, str, Air, str]] = {
    "drawer": ("kitchen drawer", "all", Air(18, 23, 45, 58), "Away from the stove."),
    "shed": ("potting shed", "all", Air(3, 25, 82, 64), "Unheated; cold winter, hot summer."),
    "cellar": ("cellar", "all", Air(7, 14, 70, 78), "Cool but never quite dry."),
    "fridge": (
        "fridge, sealed jars",
        "all",
        Air(4, 4, 30, 30, 6.5),
        "Dried with silica gel first.",
    ),
    "freezer": ("freezer, sealed foil", "all", Air(-18, -18, 25, 25, 5.5), "Dried first."),
    "bedroom": ("box under the bed", "warmth", Air(13, 22, 55, 60), "No hygrometer up there."),
    "tin": ("Pell's loft tin", "nothing", Air(5, 28, 75, 55), "How it was kept, nobody can say."),
    "sand": ("crate of damp sand in the cellar", "all", Air(4, 12, 96, 97), "For nuts only."),
}
SELFERS = ("common bean", "pea", "tomato", "lettuce", "sweet pea", "salsify")
BY_HAND = ("squash (maxima)", "squash (pepo)")
ALONE = ("parsnip", "skirret", "amaranth", "orache", "coriander", "new zealand spinach")
KIND_FACTS = (
    ("sweet chestnut", "botanical", "Castanea sativa", "any flora"),
    ("sweet chestnut", "storage_class", "recalcitrant", "tree seed handbooks (from memory)"),
    ("sweet chestnut", "life_cycle", "perennial", "any flora"),
    ("sweet chestnut", "mating", "outcrossing", "any flora"),
    ("sweet chestnut", "thousand_seed_weight_g", "9000", "weighed: 20 nuts, 180 g"),
    ("sweet chestnut", "depth_cm", "5", "keeper's notebook"),
    ("skirret", "botanical", "Sium sisarum", "any flora"),
    ("skirret", "storage_class", "unlisted", "no longevity figure found"),
    ("skirret", "life_cycle", "perennial", "keeper's notebook: same clumps since 2012"),
    ("skirret", "mating", "outcrossing", "flowers full of flies; a guess"),
    ("skirret", "thousand_seed_weight_g", "1.5", "weighed: 200 seeds, 0.30 g"),
    ("broad bean", "thousand_seed_weight_g", "1500", "weighed: 10 lots of 20 Wennabeck Speckle"),
    ("leek", "half_viability_years", "4", "keeper's tests 2018-2024, kitchen drawer"),
)
FILES: dict[str, str] = {
    "places": "place winter_temperature_c summer_temperature_c winter_rh_pct summer_rh_pct"
    " seed_moisture_pct sealed notes",
    "kinds": "kind fact value source",
    "varieties": "kind variety breeding other_keepers plants_wanted reserve_seeds notes",
    "lots": "label code kind variety origin donor harvest_year harvest_date harvest_estimated"
    " acquired_on parents generation seed_parents isolation purity purity_note treated"
    " thousand_seed_weight_g thousand_seed_weight_se_g notes",
    "stays": "lot place from_date",
    "movements": "lot date reason seeds grams note",
    "tests": "test lot substratum pretreatment temperature_c in_light started_on finished_on"
    " replicate_seeds notes",
    "counts": "test replicate date normal abnormal hard fresh dead why_corrected",
    "sowings": "sowing lot date method protection seeds row_m area_m2 stations"
    " soil_temperature_c plants_wanted finished_on notes",
    "emergence": "sowing date emerged_so_far",
    "losses": "sowing date cause lost after_emergence",
    "sites": "site seed_bed_m2 other_sites metres notes",
    "gear": "gear sort pieces covers_m2 notes",
    "climate": "site monthly_c source",
    "flowering": "year site kind variety what distance_m from_date to_date stopped_on notes",
    "seed_crops": "kind variety lot site purpose planned_on sown_on sowing flower_year isolation"
    " gear parents_started parents_rogued parents_kept harvested_on result_lot failed_on"
    " why_failed cleaning drying notes",
}


def main(folder: Path) -> None:
    """Write the CSV files into ``folder``."""
    story = read_story(HERE / "story" / "collection.txt")
    kinds = read_kinds(HERE / "story" / "kinds.csv")
    lives = _live_all(story, kinds)
    by_label = {life.lot.label: life for life in lives}
    tests = _numbered(lives, "tests", "started_on", "test")
    sowings = _numbered(lives, "sowings", "date", "sowing")
    lots = [_lot(life, by_label) for life in lives]
    rows: dict[str, list[Row]] = {
        "places": [_place(*place) for place in PLACES.values()],
        "kinds": [dict(zip(FILES["kinds"].split(), fact, strict=True)) for fact in KIND_FACTS],
        "varieties": [_variety(variety) for variety in story],
        "lots": [lot | purity(lot) for lot in lots],
        "stays": [stay for life in lives for stay in _stays(life)],
        "movements": sorted(
            (move for life in lives for move in life.movements), key=lambda row: row["date"]
        ),
        "tests": tests,
        "counts": _parts(tests, "counts", "test"),
        "sowings": sowings,
        "emergence": _parts(sowings, "emergence", "sowing"),
        "losses": _parts(sowings, "losses", "sowing"),
        "sites": sites(),
        "climate": climate(),
        "gear": gear(),
        "flowering": flowering(),
        "seed_crops": seed_crops(lives, lots, sowings),
    }
    for name, columns in FILES.items():
        _write(folder / f"{name}.csv", columns.split(), rows[name])


def _live_all(story: list[VarietyStory], kinds: dict[str, KindTruth]) -> list[Life]:
    air = {place: about[2] for place, about in PLACES.items()}
    lives = []
    for variety in story:
        kind = kinds[variety.kind]
        seed_years: dict[str, list[int]] = defaultdict(list)
        for child in variety.lots:
            for parent in child.parents:
                if child.year:
                    seed_years[parent].append(child.year - kind.years_to_seed + 1)
        for lot in variety.lots:
            life = begin(lot, variety, kind, air)
            live(life, seed_years[lot.label])
            lives.append(life)
    return lives


def _place(name: str, known: str, air: Air, notes: str) -> Row:
    row: Row = {"place": name, "sealed": "yes" if air.moisture_pct else "no", "notes": notes}
    if known in ("all", "warmth"):
        row |= {"winter_temperature_c": air.winter_c, "summer_temperature_c": air.summer_c}
    if known == "all" and air.moisture_pct is None:
        row |= {"winter_rh_pct": air.winter_rh, "summer_rh_pct": air.summer_rh}
    if air.moisture_pct is not None:
        row["seed_moisture_pct"] = air.moisture_pct
    return row


def _variety(variety: VarietyStory) -> Row:
    row = {name: getattr(variety, name, "") for name in FILES["varieties"].split()}
    return row | {"variety": variety.name}


def _lot(life: Life, by_label: dict[str, Life]) -> Row:
    lot, saved = life.lot, life.lot.origin == "self-saved"
    measured = life.thousand_seed_weight_g if lot.weight_measured else None
    return {
        "label": lot.label,
        "kind": life.kind.name,
        "variety": life.variety.name,
        "origin": lot.origin,
        "donor": lot.donor,
        "harvest_year": lot.year,
        "harvest_date": life.came_on if saved else "",
        "harvest_estimated": "yes" if lot.estimated or lot.origin == "bought" else "no",
        "acquired_on": "" if saved or lot.stock_take_only else life.came_on,
        "parents": ";".join(lot.parents),
        "generation": _generation(lot.label, by_label) if lot.year else "",
        "seed_parents": _seed_parents(life, by_label),
        "isolation": _isolation(life) if saved else "",
        "treated": "yes" if lot.treated else "no",
        "thousand_seed_weight_g": f"{measured:g}" if measured else "",
        "thousand_seed_weight_se_g": f"{0.03 * measured:.2g}" if measured else "",
        "notes": "Dyed pink: dressed against damping off." if lot.treated else "",
    }


def _generation(label: str, by_label: dict[str, Life]) -> int:
    life = by_label[label]
    born = 1 + max((_generation(parent, by_label) for parent in life.lot.parents), default=0)
    return born if life.lot.origin == "self-saved" else 0


def _seed_parents(life: Life, by_label: dict[str, Life]) -> object:
    """Plants the seed came from: those that came up when the parents were sown."""
    if not (life.lot.parents and life.lot.year):
        return ""
    year = life.lot.year - life.kind.years_to_seed + 1
    came_up = 0
    for parent in life.lot.parents:
        for sowing in by_label[parent].sowings:
            if sowing["date"].year == year:
                came_up += sowing["emergence"][-1]["emerged_so_far"]
                came_up -= sum(
                    loss["lost"] for loss in sowing["losses"] if loss["cause"] == "frost"
                )
    if came_up < 1:
        raise ValueError(f"{life.lot.label} was saved from a sowing that failed")
    return min(came_up, max(4, life.variety.plants_wanted))


def _isolation(life: Life) -> str:
    if life.kind.name in SELFERS:
        return "none"
    if life.kind.name in BY_HAND:
        return "hand-pollination"
    if life.kind.name in ALONE:
        return "only-variety"
    return ("distance", "time", "cage", "bag", "unknown")[life.random.randint(0, 5)]


def _stays(life: Life) -> list[Row]:
    after_drying = timedelta(days=14 if life.lot.origin == "self-saved" else 0)
    return [
        {
            "lot": life.lot.label,
            "place": PLACES[place][0],
            "from_date": start or life.came_on + after_drying,
        }
        for place, start in life.lot.stays
    ]


def _numbered(lives: list[Life], what: str, day: str, key: str) -> list[Row]:
    """Rows of all lots in date order, each with a name of its own such as ``sowing 7``."""
    rows = sorted((row for life in lives for row in getattr(life, what)), key=lambda row: row[day])
    return [row | {key: f"{key} {number}"} for number, row in enumerate(rows, start=1)]


def _parts(rows: list[Row], what: str, key: str) -> list[Row]:
    return [part | {key: row[key]} for row in rows for part in row[what]]


def _write(path: Path, columns: list[str], rows: Iterable[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
