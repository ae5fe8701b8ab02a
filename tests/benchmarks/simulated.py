"""Simulated collections of any size, for benchmarks: plausible, fixed by a seed, not a garden."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
from scipy.special import ndtr
from sqlmodel import Session, insert, select

from seedbank.germination.tables import GerminationTest, Substratum
from seedbank.kinds.tables import Breeding, Kind, OtherKeepers, Variety
from seedbank.lots.tables.ledger import Movement, MovementReason
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import Isolation, Lot, Origin
from seedbank.lots.tables.places import Place, Stay

TODAY = date(2027, 2, 20)
NOW = datetime(2027, 2, 20, tzinfo=UTC)
KINDS = (
    "carrot", "parsnip", "onion", "leek", "lettuce", "tomato", "pepper", "pea", "common-bean",
    "runner-bean", "broad-bean", "cabbage", "kale", "radish", "turnip", "beet", "chard", "spinach",
    "cucumber", "squash-pepo", "sweet-corn", "celery", "parsley", "coriander", "chicory",
)  # fmt: skip
_PLACES = (
    ("house", 17.0, 22.0, 45.0, 55.0, False, None),
    ("shed", 3.0, 22.0, 80.0, 62.0, False, None),
    ("cellar", 8.0, 14.0, 70.0, 75.0, False, None),
    ("fridge jar", 4.0, 4.0, 30.0, 30.0, True, 6.0),
)


def fill(session: Session, lots: int, tests_a_lot: int = 3, seed: int = 1) -> None:
    """Write ``lots`` lots with movements, stays and finished tests straight into the tables."""
    rng = np.random.default_rng(seed)
    kinds = dict(session.exec(select(Kind.slug, Kind.id)).all())
    session.execute(insert(Place), [_place(n, *row) for n, row in enumerate(_PLACES, start=1)])
    varieties = max(lots // 3, 1)
    session.execute(insert(Variety), [_variety(n, kinds, rng) for n in range(1, varieties + 1)])
    harvest = rng.integers(2015, 2027, lots)
    rows = [_lot(n, int(rng.integers(1, varieties + 1)), int(harvest[n - 1])) for n in _upto(lots)]
    _in_parts(session, Lot, rows)
    _in_parts(session, Movement, [_movement(n, int(rng.integers(20, 800))) for n in _upto(lots)])
    _in_parts(
        session,
        Stay,
        [
            {"lot_id": n, "place_id": int(rng.integers(1, 5)), "from_date": date(int(y), 11, 1)}
            for n, y in zip(_upto(lots), harvest, strict=True)
        ],
    )
    _in_parts(session, GerminationTest, _tests(harvest, tests_a_lot, rng))
    session.commit()  # a benchmark's own set-up, not a use case


def _upto(count: int) -> range:
    return range(1, count + 1)


def _in_parts(session: Session, table: Any, rows: list[dict[str, Any]]) -> None:
    for start in range(0, len(rows), 5000):
        session.execute(insert(table), rows[start : start + 5000])


def _place(
    number: int, name: str, cold: float, hot: float, rh_w: float, rh_s: float, sealed: bool,
    moisture: float | None,
) -> dict[str, Any]:  # fmt: skip
    return {
        "id": number, "name": name, "temp_winter_c": cold, "temp_summer_c": hot,
        "rh_winter_pct": rh_w, "rh_summer_pct": rh_s, "sealed": sealed,
        "seed_moisture_pct": moisture, "notes": "", "version": 1,
    }  # fmt: skip


def _variety(number: int, kinds: dict[str, Any], rng: np.random.Generator) -> dict[str, Any]:
    return {
        "id": number, "kind_id": kinds[KINDS[number % len(KINDS)]], "name": f"Variety {number}",
        "breeding": list(Breeding)[int(rng.integers(0, 4))],
        "other_keepers": list(OtherKeepers)[int(rng.integers(0, 3))],
        "plants_wanted": int(rng.integers(0, 60)), "reserve_seeds": 20, "notes": "", "version": 1,
    }  # fmt: skip


def _lot(number: int, variety: int, year: int) -> dict[str, Any]:
    return {
        "id": number, "code": code_for(number), "variety_id": variety,
        "origin": list(Origin)[number % 5], "donor": "", "harvest_year": year,
        "harvest_date": None, "harvest_estimated": number % 11 == 0, "acquired_on": None,
        "generation": None, "seed_parents": None, "isolation": Isolation.UNKNOWN,
        "treated": False, "thousand_seed_weight_g": None, "thousand_seed_weight_se_g": None,
        "notes": "", "created_at": NOW, "version": 1,
    }  # fmt: skip


def _movement(lot: int, seeds: int) -> dict[str, Any]:
    return {
        "lot_id": lot, "serial": 1, "on_date": TODAY, "reason": MovementReason.ACQUIRED,
        "seeds": seeds, "seeds_se": 0.0, "balance_seeds": seeds, "grams": None,
        "thousand_seed_weight_g": None, "note": "", "recorded_at": NOW, "reverses_id": None,
    }  # fmt: skip


def _tests(harvest: Any, tests_a_lot: int, rng: np.random.Generator) -> list[dict[str, Any]]:
    """Tests through each lot's life, of usual sizes; one in thirty has uneven replicates."""
    lots = harvest.size
    start, pace = rng.normal(1.6, 0.4, lots), np.exp(rng.normal(-1.6, 0.5, lots))
    rows = []
    for lot in range(lots):
        for _ in range(tests_a_lot):
            age = float(rng.uniform(0.1, max(2027.0 - harvest[lot], 0.3)))
            seeds = int(rng.choice([10, 20, 25, 40, 50, 100]))
            viable = int(rng.binomial(seeds, ndtr(start[lot] - pace[lot] * age)))
            started = min(date(int(harvest[lot]), 10, 1) + timedelta(days=365.25 * age), TODAY)
            rows.append(
                {
                    "lot_id": lot + 1, "substratum": Substratum.PAPER_TOWEL,
                    "pretreatment": "none", "started_on": started,
                    "finished_on": started + timedelta(days=14), "judged_seeds": seeds,
                    "viable_seeds": viable, "normal_seeds": viable,
                    "correlation": 0.12 if rng.uniform() < 1 / 30 else 0.01,
                    "temp_c": 20.0, "in_light": None, "first_count_due": None,
                    "final_count_due": None, "movement_id": None, "notes": "",
                    "created_at": NOW, "version": 1,
                }
            )  # fmt: skip
    return rows
