"""What a finished test changes: the lot's verdict, how alive it is held to be, how it is sown."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from sqlmodel import Session

from seedbank.common.answers import FindingAnswer, PercentAnswer
from seedbank.database.find import row_id
from seedbank.facts.kinds import KindFacts
from seedbank.germination.answers import TestAnswer
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Variety
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.lots import find_lot
from seedbank.science.quantities import INTERVAL_LEVEL, Finding, Interval
from seedbank.science.sowing.emergence import WeightedNodes, emergence_nodes
from seedbank.sowing.advice_layout import around, node_range
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.sowing.setting import ground_for, seedbed, settle
from seedbank.verdicts.answers import TestReadingAnswer
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.viability.forecast_viability import Forecast, forecast_of
from seedbank.viability.readiness import Readiness, ReadyShare, read_readiness
from seedbank.viability.retest_day import retest_answer
from seedbank.viability.tables.stock_columns import Collection, day_number, read_collection

_LITTLE = 0.05  # a density that changes by less than this share is called the same; our choice


@dataclass(frozen=True, slots=True)
class _Known:
    """One lot today, with the test or without it."""

    alive: PercentAnswer
    viability: WeightedNodes
    ready: ReadyShare


def read_finished_test(session: Session, test: TestAnswer, *, today: date) -> TestReadingAnswer:
    """What ``test``, a finished one, changes. Raises MisreadCode, NotThere: its lot."""
    lot = find_lot(session, test.lot)
    number = row_id(lot.id)
    entry = lot_entry(session, lot)
    facts = facts_for(session, entry.kind)
    collection, ready = read_collection(session, [number]), read_readiness(session, [number])
    forecast = forecast_of(session, collection, today=today, ahead_years=0.0)
    rest = forecast_of(session, _without(collection, test), today=today, ahead_years=0.0)
    known = _known(forecast, ready.on(number, today))
    before = _known(rest, _asleep_without(ready, number, test).on(number, today))
    comes_up, came_up = (
        _comes_up(session, one, entry.variety, facts, today) for one in (known, before)
    )
    return TestReadingAnswer(
        verdict=show_verdict(session, test.lot, today=today),
        alive_without=before.alive,
        alive_with=known.alive,
        comes_up_without=came_up,
        comes_up_with=comes_up,
        density_text=FindingAnswer.of(_density(came_up.pct, comes_up.pct)),
        retest=retest_answer(forecast),
    )


def _without(collection: Collection, test: TestAnswer) -> Collection:
    """The lot's tests but this one, known by its day and its counts."""
    tests = collection.tests
    viable = sum(one.normal + one.hard + one.fresh for one in test.replicates)
    same = (tests.day == day_number(test.started_on)) & (tests.viable == viable)
    mine = np.flatnonzero(same)[:1]
    keep = np.setdiff1d(np.arange(tests.lot.size), mine)
    return replace(collection, tests=tests.take(keep))


def _asleep_without(ready: Readiness, number: int, test: TestAnswer) -> Readiness:
    normal = sum(one.normal for one in test.replicates)
    others = [
        one
        for one in ready.tests.get(number, ())
        if (one.started_on, one.normal) != (test.started_on, normal)
    ]
    return Readiness({number: others})


def _known(forecast: Forecast, ready: ReadyShare) -> _Known:
    dose = forecast.dose_on(forecast.today)
    band, nodes = forecast.posterior.band(dose), forecast.posterior.nodes(dose)
    between = Interval(float(band.low_90[0]), float(band.high_90[0]), INTERVAL_LEVEL)
    return _Known(
        PercentAnswer.of(float(band.median[0]), between),
        WeightedNodes(nodes.probit[0], nodes.weight[0]),
        ready,
    )


def _comes_up(
    session: Session, known: _Known, variety: Variety, facts: KindFacts, today: date
) -> PercentAnswer:
    """Share of seed sown as is usual that comes up and is left by pests."""
    setting = settle(SowingAsk(plants=1), variety, facts, today=today)
    garden = learn_garden(session, today=today)
    bed = seedbed(setting, ground_for(setting, garden), garden, known.ready)
    nodes = emergence_nodes(known.viability, bed.shift, bed.pest)
    ends = node_range(nodes)
    return around(nodes.mean, ends.low, ends.high)


def _density(before_pct: float, after_pct: float) -> Finding:
    if after_pct < 1.0:
        return Finding("density-not-worth-sowing")
    ratio = before_pct / after_pct
    if abs(ratio - 1.0) < _LITTLE:
        return Finding("density-same")
    if ratio >= 2.0:
        return Finding("density-times", {"times": ratio})
    if ratio > 1.0:
        return Finding("density-more", {"more_pct": 100.0 * (ratio - 1.0)})
    return Finding("density-less", {"less_pct": 100.0 * (1.0 - ratio)})
