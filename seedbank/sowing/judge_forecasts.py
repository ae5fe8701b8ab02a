"""How well emergence and viability were foretold, and the seed that sowing by the forecast would
have saved.

Each sowing is foretold as it would have been that spring: from the sowings of earlier years, so
none helps to foretell itself. Only the lot's viability knows more than was known then: it uses
every test made since.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import blake2b

import numpy as np
from sqlmodel import Session

from seedbank.common.answers import FindingAnswer, PercentAnswer, Source, finding_answers
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes, topics_of
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.transaction import let_go
from seedbank.science.germination.proportion import INTERVAL_REACH, proportion_interval
from seedbank.science.quantities import USUAL_CONFIDENCE, Finding, FloatArray
from seedbank.science.sowing.emergence import WeightedNodes, emergence_nodes, left_by_pests
from seedbank.science.sowing.emergence_calibration import (
    CalibrationBin,
    ForetoldSowing,
    HeldSowing,
    bin_forecasts,
    hold_against,
)
from seedbank.science.sowing.plant_counts import probability_enough
from seedbank.science.sowing.seed_need import smallest_seeds
from seedbank.science.sowing.seedling_losses import lost_share
from seedbank.science.sowing.shift_observation import ShiftTable
from seedbank.sowing.answers import (
    CalibrationBinAnswer,
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)
from seedbank.sowing.learn_from_sowings import (
    Garden,
    PastSowing,
    garden_state,
    learn_from,
    learn_garden,
)
from seedbank.viability.answers import ForecastsOfASortAnswer, ForetoldTestsAnswer
from seedbank.viability.judge_foretold_tests import by_sort, judge_foretold_tests, share_of
from seedbank.viability.tables.forecasts import ViabilityForecast

_SOURCES = [
    Source(
        text="predictive checks of counts: Czado, Gneiting & Held 2009, Biometrics 65:1254-1261",
        confidence="memory",
    ),
    Source(
        text="interval: Jeffreys (Brown, Cai & DasGupta 2001, Statistical Science 16:101-133)",
        confidence="computed",
    ),
]


@dataclass(frozen=True, slots=True)
class _Foretold:
    """A sowing with what earlier years said of it.

    ``advised`` are the seeds for the plants wanted, or all that the lot held where that would not
    do; ``promised`` the chance they had. Both are 0 where no plants were wanted.
    """

    past: PastSowing
    held: HeldSowing
    advised: int
    promised: float


Years = dict[bytes, list[_Foretold]]
"""Sowings foretold, year by year, under a print of them and all before them."""


@dataclass(frozen=True, slots=True)
class _Judged:
    garden: Garden
    tests: ForetoldTestsAnswer
    years: Years
    answer: ForecastRecordAnswer


_RECORD: CacheRegion[_Judged] = CacheRegion(lane=JUDGEMENTS)


def judge_forecasts(session: Session, *, today: date) -> ForecastRecordAnswer:
    """The record so far; kept in memory while nothing it rests on has changed."""
    state = (*garden_state(session, today), *changes(session, topics_of(ViabilityForecast)))
    tests = judge_foretold_tests(session, today=today)
    garden = learn_garden(session, today=today)

    def judge() -> _Judged:
        let_go(session)
        last = _RECORD.last(session)
        if last is not None and last.garden is garden and last.tests is tests:
            return last
        years = foretell(garden.sowings, garden.likelihoods, last.years if last else {})
        return _Judged(garden, tests, years, score_forecasts(years, tests))

    return _RECORD.get(session, state, judge).answer


def score_forecasts(years: Years, tests: ForetoldTestsAnswer) -> ForecastRecordAnswer:
    """Compare what was foretold with what came; ``tests`` are judged already."""
    foretold = [one for year in years.values() for one in year]
    past = [one.past for one in foretold]
    first = min((sowing.sown_on.year for sowing in past), default=0)
    held = [one.held for one in foretold]
    errors = np.array([one.error for one in held])
    mean, low, high = _mean_error(errors)
    alone = sum(sowing.sown_on.year == first for sowing in past)
    inside = [one.inside_90 for one in held]
    of_tests = [one.low_90 <= one.viable <= one.high_90 for one in tests.items]
    return ForecastRecordAnswer(
        forecasts=len(inside) + len(of_tests),
        all_inside_90=share_of([*inside, *of_tests]),
        by_sort=[*by_sort(tests), *_of_sowings(held)],
        viability=tests,
        sowings=len(foretold),
        inside_50=share_of([one.inside_50 for one in held]),
        inside_90=share_of(inside),
        mean_error_points=mean,
        mean_error_low_points=low,
        mean_error_high_points=high,
        saved=_saved(foretold),
        bins=[_bin(one) for one in bin_forecasts(held)],
        items=[_item(one) for one in foretold],
        reasons=_reasons(len(past), alone),
        sources=_SOURCES,
    )


def _of_sowings(held: Sequence[HeldSowing]) -> list[ForecastsOfASortAnswer]:
    if not held:
        return []
    return [
        ForecastsOfASortAnswer.of(
            Finding("forecasts-of-sowings"),
            forecasts=len(held),
            inside_50=share_of([one.inside_50 for one in held]),
            inside_90=share_of([one.inside_90 for one in held]),
            log_score=round(float(np.mean([one.log_score for one in held])), 3),
            alone_log_score=None,
        )
    ]


def foretell(
    sowings: Sequence[PastSowing], likelihoods: Sequence[ShiftTable], known: Years
) -> Years:
    """What was foretold of each year's sowings; years ``known`` already are not foretold again."""
    pairs = [
        (sowing, table)
        for sowing, table in zip(sowings, likelihoods, strict=True)
        if sowing.record.trials > 0
    ]
    years: Years = {}
    digest = blake2b()
    for year in sorted({sowing.sown_on.year for sowing, _ in pairs}):
        own = [sowing for sowing, _ in pairs if sowing.sown_on.year == year]
        for sowing in own:
            digest.update(sowing.fingerprint)
        key = digest.digest()
        if key in known:
            years[key] = known[key]
            continue
        earlier = [pair for pair in pairs if pair[0].sown_on.year < year]
        before = learn_from([one for one, _ in earlier], [table for _, table in earlier])
        years[key] = [_one(sowing, before) for sowing in own]
    return years


def _one(sowing: PastSowing, before: Garden) -> _Foretold:
    record, wanted = sowing.record, sowing.plants_wanted
    shift = before.shift_model.predict(record.conditions)
    pest = before.pests[record.conditions.protection].share
    asleep = lost_share(sowing.ready, None)
    emergence = emergence_nodes(record.viability, shift.mean, shift.sd, asleep)
    held = hold_against(ForetoldSowing(emergence, record.trials, record.emerged, record.patches))
    advised, promised = 0, 0.0
    if wanted:
        plants = left_by_pests(emergence, pest)
        advised = _advised(sowing, plants, wanted)
        promised = float(probability_enough(plants, advised, wanted, record.patches))
    return _Foretold(sowing, held, advised, promised)


def _mean_error(errors: FloatArray) -> tuple[float | None, float | None, float | None]:
    """Mean with its 90 % interval, in percentage points; no interval from one sowing."""
    if errors.size == 0:
        return None, None, None
    mean = 100.0 * float(errors.mean())
    if errors.size == 1:
        return round(mean, 1), None, None
    reach = 100.0 * INTERVAL_REACH * float(errors.std(ddof=1)) / float(np.sqrt(errors.size))
    return round(mean, 1), round(mean - reach, 1), round(mean + reach, 1)


def _saved(foretold: Sequence[_Foretold]) -> SavedAnswer | None:
    asked = [one for one in foretold if one.past.plants_wanted]
    if not asked:
        return None
    wanted = np.array([one.past.plants_wanted or 0 for one in asked])
    sown = np.array([one.past.record.sown for one in asked])
    advised = np.array([one.advised for one in asked])
    share = np.array([_left(one) for one in asked])
    more = sown - advised
    return SavedAnswer(
        sowings=len(asked),
        plants_wanted=int(wanted.sum()),
        seeds_sown=int(sown.sum()),
        seeds_advised=int(advised.sum()),
        oversown=int((more > 0).sum()),
        seeds_saved=int(more[more > 0].sum()),
        undersown=int((more < 0).sum()),
        seeds_short=int(-more[more < 0].sum()),
        enough_as_sown=_certain_share(int((sown * share >= wanted - 0.5).sum()), len(asked)),
        enough_as_advised=_certain_share(int((advised * share >= wanted - 0.5).sum()), len(asked)),
        promised_pct=round(100.0 * float(np.mean([one.promised for one in asked])), 1),
    )


def _advised(past: PastSowing, plants: WeightedNodes, wanted: int) -> int:
    most = past.record.sown if past.held is None else past.held
    seeds = smallest_seeds(plants, wanted, USUAL_CONFIDENCE, past.record.patches, most)
    return most if seeds is None else seeds


def _left(one: _Foretold) -> float:
    """Share of sown seed that really came up and was not eaten."""
    record, eaten = one.past.record, one.past.eaten
    return record.emerged / record.trials * (1.0 - eaten.eaten / eaten.sown)


def _bin(one: CalibrationBin) -> CalibrationBinAnswer:
    reach = INTERVAL_REACH * one.error_se
    alone = one.sowings == 1

    def pct(share: float) -> float:
        return round(100.0 * min(max(share, 0.0), 1.0), 1)

    return CalibrationBinAnswer(
        from_pct=pct(one.low),
        to_pct=pct(one.high),
        sowings=one.sowings,
        foretold_pct=pct(one.foretold),
        emerged_pct=pct(one.emerged),
        emerged_low_pct=None if alone else pct(one.emerged - reach),
        emerged_high_pct=None if alone else pct(one.emerged + reach),
    )


def _item(one: _Foretold) -> ForetoldAnswer:
    past = one.past
    return ForetoldAnswer(
        sowing=past.sowing_id,
        lot=past.lot,
        kind=past.kind,
        sown_on=past.sown_on,
        seeds=past.record.trials,
        expected=round(one.held.counts.mean, 1),
        low=one.held.counts.range.low,
        high=one.held.counts.range.high,
        low_50=one.held.counts.likely.low,
        high_50=one.held.counts.likely.high,
        emerged=past.record.emerged,
        plants_wanted=past.plants_wanted,
        seeds_advised=one.advised or None,
    )


def _certain_share(hits: int, of: int) -> PercentAnswer:
    return PercentAnswer.of(hits / of, proportion_interval(hits, of))


def _reasons(sowings: int, alone: int) -> list[FindingAnswer]:
    if not sowings:
        return finding_answers([Finding("forecasts-none")])
    first = Finding("forecasts-of-first-year", {"sowings": sowings, "first_year_sowings": alone})
    return finding_answers(
        [first, Finding("forecasts-know-later-tests"), Finding("forecasts-known-losses")]
    )
