"""A sowing drawn from a lot's true state: what came up, and what mice, drought and frost took."""

import math
from datetime import date, timedelta

import numpy as np
from demo_life import TODAY, Life, Row
from demo_truth import KindTruth, emergence_probability, patchy

SOWN_PER_METRE = {5: 4, 10: 8, 25: 30, 50: 60}
FEWEST_TO_SOW = 5


def sowing_day(kind: KindTruth, year: int, random: np.random.RandomState) -> date:
    if year == TODAY.year:
        return date(year, 2, random.randint(2, 6))  # only what is sown indoors this early
    return date(year, kind.sow_month, random.randint(3, 27))


def sow(life: Life, on: date, letters: str, *, for_seed: bool) -> None:
    kind, random, wanted = life.kind, life.random, max(4, life.variety.plants_wanted)
    by_feel = math.ceil(wanted * random.uniform(1.4, 2.2))
    seeds = life.held if "a" in letters else min(by_feel, math.floor(life.held * 0.6))
    if seeds < FEWEST_TO_SOW:
        raise ValueError(f"{life.lot.label}: only {life.held} seeds left to sow in {on.year}")
    protection = "indoors" if on.year == TODAY.year else kind.protection
    soil_c = round(20 if protection == "indoors" else kind.soil_c + random.normal() * 1.5, 1)
    row: Row = {"lot": life.lot.label, "date": on, "method": kind.method, "seeds": seeds}
    row |= {"protection": protection, "soil_temperature_c": soil_c, "plants_wanted": wanted}
    row |= _laid_out(kind, seeds) | {"notes": _where(kind, protection, for_seed)}
    life.sowings.append(row | _come_up(life, row, letters))
    life.held -= seeds


def _come_up(life: Life, sowing: Row, letters: str) -> Row:
    """Emergence counts and losses, those dated after today left out."""
    kind, random, on, seeds = life.kind, life.random, sowing["date"], sowing["seeds"]
    protection, soil_c = sowing["protection"], sowing["soil_temperature_c"]
    eaten = round(seeds * random.uniform(0.2, 0.45)) if "v" in letters else 0
    dried = round(seeds * random.uniform(0.2, 0.4)) if "r" in letters else 0
    chance = emergence_probability(kind, life.probit(on), protection, soil_c)
    chance = patchy(random, chance, 0.04 if protection == "open" else 0.01)
    emerged = int(random.binomial(seeds - eaten - dried, chance))
    frosted = round(emerged * random.uniform(0.2, 0.5)) if "f" in letters else 0
    lost = {"eaten": (eaten, 1.2), "dried-out": (dried, 1.4), "frost": (frosted, 1.8)}
    if random.uniform() < 0.5:
        lost["not-emerged"] = (seeds - eaten - dried - emerged, 2.2)
    first_day = max(4, round(2.2 * kind.half_germinated_days * 15 / max(soil_c, 8)))
    seen = ((1, int(0.4 * emerged)), (1.5, int(0.85 * emerged)), (2.2, emerged))
    counts = [
        {"date": on + timedelta(days=round(first_day * part)), "emerged_so_far": units}
        for part, units in seen
    ]
    finished = on + timedelta(days=round(first_day * 2.2) + 4)
    return {
        "finished_on": "" if finished > TODAY else finished,
        "emergence": [row for row in counts if row["date"] <= TODAY],
        "losses": [
            {
                "date": on + timedelta(days=round(first_day * part)),
                "cause": why,
                "lost": units,
                "after_emergence": "yes" if why == "frost" else "no",
            }
            for why, (units, part) in lost.items()
            if units and finished <= TODAY
        ],
    }


def _laid_out(kind: KindTruth, seeds: int) -> Row:
    """Row length, stations (three seeds each), cells or area, as the method has it."""
    laid: Row = {"row_m": "", "area_m2": "", "stations": ""}
    per_metre = SOWN_PER_METRE[kind.replicates[0]]
    if kind.method == "row":
        laid["row_m"] = f"{max(0.5, round(seeds / per_metre, 1)):g}"
    elif kind.method == "broadcast":
        laid["area_m2"] = f"{max(0.2, round(seeds / 200, 1)):g}"
    elif kind.method == "station":
        laid["stations"] = math.ceil(seeds / 3)
    else:
        laid["stations"] = math.ceil(seeds / (1 if seeds <= 24 else 2))
    return laid


def _where(kind: KindTruth, protection: str, for_seed: bool) -> str:
    site = {
        "indoors": "kitchen windowsill",
        "tunnel": "Top Garth, tunnel",
        "cold-frame": "Top Garth, cold frames",
    }.get(protection, "Beckside" if kind.sow_month % 2 else "Top Garth, long bed")
    return f"{site}; for seed" if for_seed else site
