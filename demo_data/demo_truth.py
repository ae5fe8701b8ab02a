"""The hidden truth the demo is drawn from: how seed ages, germinates and comes up.

Written apart from the package's own science, so that a mistake there is not repeated here.

Ageing: Ellis & Roberts 1980, Annals of Botany 45:13-30: probit viability = Ki - integral of
dt / sigma, log10 sigma = K_E - C_W log10 m - C_H t - C_Q t^2, with the universal temperature
constants of Dickie et al. 1990, Annals of Botany 65:197-204. K_E is set so that a kind's seed of
mean quality is half dead after ``p50_years`` in open storage at 20 C and 50 % relative humidity.
Moisture of open seed: Cromarty, Ellis & Roberts 1982, The Design of Seed Storage Facilities.
Emergence: the same probit less a shift for the stress of the seedbed (Ellis & Roberts 1981, Seed
Science and Technology 9:373-409); the size of the shifts is invented.
"""

import csv
import math
import zlib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from scipy.special import ndtr

SEED = 20270220
C_H, C_Q = 0.0329, 0.000478
YEAR_DAYS = 365.25
COLDEST_DAY = 15  # of the year: the middle of January
SEEDBED_SHIFT = {"indoors": 0.1, "tunnel": 0.25, "cold-frame": 0.4, "fleece": 0.5, "open": 0.65}


@dataclass(frozen=True)
class KindTruth:
    """One row of story/kinds.csv: years, % of dry weight, C, days, fractions as named there."""

    name: str
    p50_years: float
    oil_pct: float
    ki: float
    c_w: float
    years_to_seed: int
    thousand_seed_weight_g: float
    sow_month: int
    protection: str
    method: str
    soil_c: float
    soil_opt_c: float
    half_germinated_days: float
    final_days: int
    hard: float
    fresh: float
    replicates: tuple[int, ...]
    harvest_month: int


@dataclass(frozen=True)
class Air:
    """A place's winter and summer values; ``moisture_pct`` where sealed seed keeps its own."""

    winter_c: float
    summer_c: float
    winter_rh: float
    summer_rh: float
    moisture_pct: float | None = None


def read_kinds(path: Path) -> dict[str, KindTruth]:
    """Truth of each kind by name."""
    with path.open(encoding="utf-8", newline="") as file:
        return {row["kind"]: _kind(row) for row in csv.DictReader(file)}


def _kind(row: dict[str, str]) -> KindTruth:
    numbers = ["p50_years", "oil_pct", "ki", "c_w", "thousand_seed_weight_g", "soil_c"]
    numbers += ["soil_opt_c", "half_germinated_days", "hard", "fresh"]
    number = {name: float(row[name]) for name in numbers}
    whole = {n: int(row[n]) for n in ("years_to_seed", "sow_month", "final_days", "harvest_month")}
    sizes = tuple(int(size) for size in row["replicates"].split(";"))
    return KindTruth(
        name=row["kind"],
        protection=row["protection"],
        method=row["method"],
        replicates=sizes,
        **number,
        **whole,
    )


def stream(label: str) -> np.random.RandomState:
    """Random numbers of one lot; RandomState is frozen, so every numpy draws the same."""
    return np.random.RandomState((SEED + zlib.crc32(label.encode())) % 2**32)


def moisture_pct(temp_c: np.ndarray, rh: np.ndarray, oil_pct: float) -> np.ndarray:
    """Moisture (% of fresh weight) of seed in balance with air; rh as a fraction."""
    dry = (1 - oil_pct / 100) * np.sqrt(-440 * np.log(1 - rh)) / (1.1 + temp_c / 90)
    return 100 * dry / (100 + dry)


def probits_lost(kind: KindTruth, air: Air, start: date, end: date) -> float:
    """Probits a mean lot loses in one place between two dates, added up day by day."""
    days = np.arange(start.toordinal(), end.toordinal())
    if not days.size or not kind.p50_years:
        return 0.0
    new_year = date(2000, 1, 1).toordinal()
    turn = -np.cos(2 * math.pi * ((days - new_year) - COLDEST_DAY) / YEAR_DAYS)
    temp_c = (air.winter_c + air.summer_c) / 2 + turn * (air.summer_c - air.winter_c) / 2
    rh = (air.winter_rh + air.summer_rh) / 200 + turn * (air.summer_rh - air.winter_rh) / 200
    moist = moisture_pct(temp_c, rh, kind.oil_pct) if air.moisture_pct is None else air.moisture_pct
    home = moisture_pct(np.asarray(20.0), np.asarray(0.5), kind.oil_pct)
    log_sigma = (
        math.log10(kind.p50_years * YEAR_DAYS / kind.ki)
        - kind.c_w * (np.log10(moist) - np.log10(home))
        - C_H * (temp_c - 20)
        - C_Q * (temp_c**2 - 400)
    )
    return float(np.sum(10.0**-log_sigma))


def emergence_probability(kind: KindTruth, probit: float, protection: str, soil_c: float) -> float:
    """Chance that one unit comes up; soil colder than the kind likes adds to the shift."""
    shift = SEEDBED_SHIFT[protection] + 0.03 * max(0.0, kind.soil_opt_c - soil_c)
    return float(ndtr(probit - shift))


def patchy(random: np.random.RandomState, probability: float, rho: float) -> float:
    """A probability that varies from patch to patch (beta, intra-class correlation rho)."""
    if rho == 0 or probability in (0.0, 1.0):
        return probability
    spread = (1 - rho) / rho
    return float(random.beta(probability * spread, (1 - probability) * spread))
