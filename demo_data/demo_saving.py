"""Saving seed at Overwenna: the two gardens, the gear, what flowers, and the record of seed crops.

The seed crops are those the story's self-saved lots came from. Nothing here is drawn at random.
"""

from datetime import date

from demo_life import Life, Row

SITES = (
    ("Top Garth", 14, "Beckside", 180, "Behind the house: long bed, cold frames, tunnel."),
    ("Beckside", 22, "", "", "By the ford; good silt, colder, full of voles."),
)
# Site ("": the garden), twelve monthly means in °C, who says so: invented like all else here.
CLIMATE = (
    (
        "",
        "3.9;4.1;6.0;8.2;11.3;14.1;16.0;15.7;13.4;10.1;6.6;4.4",
        "the thermometer by the back door",
    ),
    ("Beckside", "3.1;3.4;5.4;7.7;10.8;13.6;15.4;15.0;12.6;9.3;5.8;3.6", "some days by the ford"),
)
GEAR = (
    ("gauze cages", "cage", 3, 1.8, "Hazel hoops and curtain gauze."),
    ("paper bags", "bag", 60, "", "For trusses and single heads."),
    ("fleece", "net", 2, 6, "Pegged down well it keeps bees off."),
)
RUBBED, RIPE = "threshed, sieved and winnowed", "two weeks on trays, then jars with silica gel"
# year, site, kind, variety, what, metres off, stopped on, notes
FLOWERING = (
    (2026, "Top Garth", "kale", "Brackwin Snowcurl", "left-to-run", "", "", "for the bees"),
    (2026, "Beckside", "sweet corn", "", "neighbour", 240, "", "Jobe Quillam's fodder maize"),
    (2027, "Top Garth", "chard", "Crakemoor Rainrib", "left-to-run", "", "", "six old plants"),
    (2027, "Top Garth", "kale", "Brackwin Snowcurl", "left-to-run", "", "", "for the bees"),
    (2027, "Top Garth", "brussels sprouts", "Gannerly Tightknot", "left-to-run", "", "2027-02-14",
     "dug in before they could bolt"),
    (2027, "Beckside", "leek", "Skirrow Bluewinter", "left-to-run", "", "", "a row left standing"),
    (2027, "Beckside", "rocket", "Tattermoss Wildtooth", "self-sown", "", "", "out of the wall"),
    (2027, "Top Garth", "calendula", "Overwenna Sunpenny", "self-sown", "", "", "everywhere"),
    (2027, "Top Garth", "beet", "", "neighbour", 320, "", "Jobe Quillam's mangolds, some bolt"),
    (2027, "Beckside", "cabbage", "", "neighbour", 150, "", "Nessa lets her spring cabbage bolt"),
    (2027, "Beckside", "carrot", "", "wild", 260, "", "on the bank of the lane"),
    (2027, "Top Garth", "parsnip", "", "wild", 90, "", "along the hedge; its sap burns"),
)  # fmt: skip
WIND = ("beet", "chard", "spinach", "sweet corn")
CROSSED = "Hobbelton Tatterleaf"
FIRST_YEAR_ON_RECORD = 2020
_ISOLATED = {
    "cage": "Isolated by a cage.",
    "bag": "Isolated by bags.",
    "distance": "Isolated by distance from all that was known to flower.",
    "time": "Isolated by time of flowering.",
    "hand-pollination": "Isolated by hand pollination.",
    "only-variety": "Isolated: no other variety was known to flower within reach.",
}


def sites() -> list[Row]:
    columns = ("site", "seed_bed_m2", "other_sites", "metres", "notes")
    return [dict(zip(columns, site, strict=True)) for site in SITES]


def climate() -> list[Row]:
    return [dict(zip(("site", "monthly_c", "source"), one, strict=True)) for one in CLIMATE]


def gear() -> list[Row]:
    columns = ("gear", "sort", "pieces", "covers_m2", "notes")
    return [dict(zip(columns, one, strict=True)) for one in GEAR]


def flowering() -> list[Row]:
    columns = ("year", "site", "kind", "variety", "what", "distance_m", "stopped_on", "notes")
    return [dict(zip(columns, one, strict=True)) for one in FLOWERING]


def purity(lot: Row) -> Row:
    """What the keeper wrote of a lot's purity, from how it was isolated."""
    isolation = str(lot["isolation"])
    if lot["origin"] != "self-saved":
        return {}
    if lot["variety"] == CROSSED:
        note = "Risk of crossing with kale and cabbage all around: the bees go where they like."
        return {"purity": "risk", "purity_note": note}
    if lot["kind"] in WIND and isolation in ("cage", "bag"):
        return {"purity": "risk", "purity_note": "Risk of crossing: pollen blows through gauze."}
    if isolation in _ISOLATED:
        return {"purity": "isolated", "purity_note": _ISOLATED[isolation]}
    return {}


def seed_crops(lives: list[Life], lots: list[Row], sowings: list[Row]) -> list[Row]:
    """One a self-saved lot with one parent lot and a sowing for seed; and one under way."""
    done = [
        _harvested(life, lot, sowing)
        for life, lot in zip(lives, lots, strict=True)
        if (sowing := _sown_for(life, lot, sowings)) is not None
    ]
    done.sort(key=lambda row: (row["harvested_on"], row["result_lot"]))
    return [*done, *_lost_and_under_way(sowings)]


def _sown_for(life: Life, lot: Row, sowings: list[Row]) -> Row | None:
    parents, year = life.lot.parents, life.lot.year
    if len(parents) != 1 or year is None or year < FIRST_YEAR_ON_RECORD:
        return None
    sown = year - life.kind.years_to_seed + 1
    found = (s for s in sowings if s["lot"] == parents[0] and s["date"].year == sown)
    return next(found, None) if lot["origin"] == "self-saved" else None


def _harvested(life: Life, lot: Row, sowing: Row) -> Row:
    kept = int(str(lot["seed_parents"]))
    came_up = sowing["emergence"][-1]["emerged_so_far"]
    started = max(kept, min(came_up, kept + kept // 8 + 1))
    covered = {"cage": "gauze cages", "bag": "paper bags"}
    return _sown(sowing, life.kind.name, life.variety.name) | {
        "purpose": {"none": "rare", "few": "keep"}.get(life.variety.other_keepers, "home"),
        "flower_year": life.lot.year,
        "isolation": lot["isolation"],
        "gear": covered.get(str(lot["isolation"]), ""),
        "parents_started": started,
        "parents_rogued": (started - kept + 1) // 2,
        "parents_kept": kept,
        "harvested_on": life.came_on,
        "result_lot": life.lot.label,
        "cleaning": RUBBED,
        "drying": RIPE,
    }


def _sown(sowing: Row, kind: str, variety: str) -> Row:
    return {
        "kind": kind,
        "variety": variety,
        "lot": sowing["lot"],
        "site": "Beckside" if str(sowing["notes"]).startswith("Beckside") else "Top Garth",
        "planned_on": date(sowing["date"].year, 1, 6),
        "sown_on": sowing["date"],
        "sowing": sowing["sowing"],
    }


def _lost_and_under_way(sowings: list[Row]) -> list[Row]:
    """Of two roots sown in 2026 one lot froze in the clamp, the other is to flower in 2027."""
    frozen, waiting = (
        next(s for s in sowings if s["lot"] == lot and s["date"].year == 2026)
        for lot in ("Lantrake Amberling 2023", "Tattermoss Goldcoin 2023")
    )
    lost = {"failed_on": date(2027, 1, 17), "why_failed": "the clamp froze through"}
    both = {"purpose": "home", "flower_year": 2027}
    return [
        _sown(frozen, "carrot", "Lantrake Amberling") | both | lost
        | {"isolation": "distance", "parents_started": 24, "parents_kept": 0},
        _sown(waiting, "beet", "Tattermoss Goldcoin") | both
        | {"isolation": "distance", "parents_started": 18, "parents_rogued": 2,
           "notes": "Roots in sand in the cellar."},
    ]  # fmt: skip
