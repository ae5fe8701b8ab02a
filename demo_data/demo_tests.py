"""A germination test drawn from a lot's true state: dormant, hard, abnormal and dead seed."""

import math
from datetime import date, timedelta

import numpy as np
from demo_life import TODAY, Life, Row
from demo_truth import KindTruth, patchy
from scipy.special import ndtr

SUBSTRATA = {"s": "sand", "b": "blotter", "p": "compost", "x": "other"}


def run_test(life: Life, on: date, letters: str) -> None:
    kind, random = life.kind, life.random
    sizes = (10,) if "n" in letters else kind.replicates
    while sum(sizes) > life.held // 2 and sizes != (5,):
        sizes = (10,) if sum(sizes) > 10 else (5,)
    if sum(sizes) > life.held:
        raise ValueError(f"{life.lot.label}: only {life.held} seeds left to test in {on.year}")
    probit, age = life.probit(on), (on - life.came_on).days / 365.25
    dormant = kind.fresh * (2.2 if "w" in letters else math.exp(-age / 0.8))
    hard = kind.hard
    if "h" in letters:
        dormant, hard = dormant * 0.15, hard * 0.15
    counts: list[Row] = []
    for number, size in enumerate(sizes, start=1):
        viable = patchy(random, float(ndtr(probit)), 0.3 if "d" in letters else 0.01)
        counts += _replicate(life, on, number, size, (viable, min(dormant, 0.6), hard))
    if "c" in letters:
        _add_correction(counts)
    life.tests.append(_written_down(life, on, letters, sizes, counts))
    life.held -= sum(sizes)


def _written_down(
    life: Life, on: date, letters: str, sizes: tuple[int, ...], counts: list[Row]
) -> Row:
    last = on + timedelta(days=life.kind.final_days)
    return {
        "lot": life.lot.label,
        "substratum": next((SUBSTRATA[c] for c in letters if c in SUBSTRATA), "paper-towel"),
        "pretreatment": _pretreatment(life.kind, "h" in letters),
        "temperature_c": 25 if "w" in letters else _test_temperature(life.kind),
        "in_light": "yes" if life.kind.thousand_seed_weight_g < 1.15 else "",
        "started_on": on,
        "finished_on": "" if last > TODAY else last,
        "replicate_seeds": ";".join(map(str, sizes)),
        "notes": "tested straight from the plant" if "w" in letters else "",
        "counts": [row for row in counts if row["date"] <= TODAY],
    }


def _test_temperature(kind: KindTruth) -> int:
    return {15: 15, 16: 16, 18: 18}.get(round(kind.soil_opt_c), 20 if kind.soil_opt_c < 24 else 24)


def _pretreatment(kind: KindTruth, treated: bool) -> str:
    if not treated:
        return "none"
    if kind.name == "new zealand spinach":
        return "soak"
    return "scarify" if kind.hard >= 0.2 else "prechill"


def _replicate(
    life: Life, on: date, number: int, size: int, chances: tuple[float, float, float]
) -> list[Row]:
    """Counts on two days: seedlings and rotten seed taken out early, the rest judged at the end."""
    random, kind = life.random, life.kind
    viable_chance, dormant, hard_chance = chances
    viable = random.binomial(size, viable_chance)
    hard = random.binomial(viable, hard_chance)
    fresh = random.binomial(viable - hard, dormant)
    normal = viable - hard - fresh
    abnormal = random.binomial(size - viable, 0.3)
    dead = size - viable - abnormal
    early_day = max(3, round(0.45 * kind.final_days))
    days = kind.half_germinated_days * np.exp(0.35 * random.normal(size=normal))
    early = int(np.sum(days <= early_day))
    rotten = random.binomial(dead, 0.3)
    row = {"replicate": number, "abnormal": 0, "hard": 0, "fresh": 0, "why_corrected": ""}
    first = row | {"date": on + timedelta(days=early_day), "normal": early, "dead": rotten}
    final = row | {"date": on + timedelta(days=kind.final_days), "normal": normal - early}
    final |= {"abnormal": abnormal, "hard": hard, "fresh": fresh, "dead": dead - rotten}
    return [first, final]


def _add_correction(counts: list[Row]) -> None:
    """A seedling first called normal is found abnormal; both judgements stay on the page."""
    last = counts[-1]
    moved = 1 if int(str(last["normal"])) else 0
    judged = {"normal": last["normal"] - moved, "abnormal": last["abnormal"] + moved}
    counts.append(last | judged | {"why_corrected": "on a second look one had no root"})
