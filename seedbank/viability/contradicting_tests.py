"""Two tests of a lot that can't well both hold: how alive it is if they do, and if one failed."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from seedbank.common.answers import SeedViabilityPoint
from seedbank.science.quantities import Finding
from seedbank.science.viability.failed_tests import (
    MORE_SEEDS,
    LotTests,
    chance_it_failed,
    find_contradiction,
)
from seedbank.viability.answers import ContradictionAnswer
from seedbank.viability.forecast_viability import Forecast, with_tests
from seedbank.viability.lot_records import spread_of
from seedbank.viability.tables.stock_columns import day_date

ReadBand = Callable[[Forecast], SeedViabilityPoint]
"""How alive the one lot of a forecast is on the day asked about."""


def contradicting_tests(seen: Forecast, read: ReadBand) -> ContradictionAnswer | None:
    """Both readings of the one lot of a forecast whose tests contradict each other.

    All else goes by both being right: a test fails by saying too little, so that is the lower.
    How much good tests vary is judged by other lots alone, or these would excuse themselves.
    """
    tests = seen.collection.tests
    sound = np.flatnonzero(~tests.faulty & (tests.seeds > 0))
    sound = sound[np.argsort(tests.day[sound], kind="stable")]
    if sound.size < 2 or not seen.reckoned(0):
        return None
    mine, cases = tests.take(sound), seen.observations.cases
    rho = seen.garden.rho_by_others(seen, 0)
    counted = LotTests(
        seen.storage.doses_at(mine.lot, mine.day)[:, :cases],
        seen.observations.weight[0],
        mine.viable,
        mine.seeds,
        spread_of(mine, rho),
    )
    found = find_contradiction(seen.priors, counted)
    if found is None:
        return None
    failed = int(sound[found.failed])
    others = with_tests(seen, tests.take(np.arange(tests.lot.size) != failed), rho)
    chance = chance_it_failed(seen.priors, others.observations, counted, found.failed)
    faulty = tests.faulty.copy()
    faulty[failed] = True
    if_failed = read(with_tests(seen, replace(tests, faulty=faulty), rho))
    pair = tests.take(sound[[found.first, found.second]])
    days = [day_date(day) for day in pair.day.tolist()]
    both = read(seen)
    told = Finding(
        "tests-contradict",
        {
            "first": days[0],
            "first_viable": int(pair.viable[0]),
            "first_seeds": int(pair.seeds[0]),
            "second": days[1],
            "second_viable": int(pair.viable[1]),
            "second_seeds": int(pair.seeds[1]),
            "failed": day_date(float(tests.day[failed])),
            "failed_chance": chance,
            "low_pct": both.low_90_pct,
            "high_pct": both.high_90_pct,
            "failed_low_pct": if_failed.low_90_pct,
            "failed_high_pct": if_failed.high_90_pct,
            "more_seeds": MORE_SEEDS,
        },
    )
    return ContradictionAnswer.of(
        told,
        chance=float(f"{found.chance:.2g}"),
        failed_chance=round(chance, 3),
        failed_started_on=day_date(float(tests.day[failed])),
        if_both_hold=both,
        if_one_failed=if_failed,
        more_seeds=MORE_SEEDS,
    )
