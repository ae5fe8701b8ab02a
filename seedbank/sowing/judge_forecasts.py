"""How well emergence and viability were foretold, and the seed that sowing by the forecast would
have saved.

Each sowing is foretold as it would have been that spring: from the sowings of earlier years, so
none helps to foretell itself. Only the lot's viability knows more than was known then: it uses
every test made since, but no sowing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import blake2b

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer, PercentAnswer, Source, finding_answers
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes, topics_of
from seedbank.database.find import row_id
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.transaction import let_go
from seedbank.emergence.tables import SowingMethod
from seedbank.facts.field_factors import published_shift_prior
from seedbank.facts.seeding_rates import usual_spacing_cm
from seedbank.lots.tables.ledger import Movement
from seedbank.science.germination.proportion import INTERVAL_REACH, proportion_interval
from seedbank.science.quantities import Finding, FloatArray, taken
from seedbank.science.sowing.crop_filling import GOOD_CROP, PLACES
from seedbank.science.sowing.emergence import WeightedNodes, emergence_nodes
from seedbank.science.sowing.emergence_calibration import (
    CalibrationBin,
    ForetoldSowing,
    HeldSowing,
    bin_forecasts,
    hold_against,
)
from seedbank.science.sowing.field_shift_learning import FieldShiftModel, learn_shift
from seedbank.science.sowing.seedling_losses import PestLoss, lost_share
from seedbank.science.sowing.usual_rate import RateAdvice
from seedbank.science.viability.evidence import GRID
from seedbank.sowing.forecast_answers import (
    CalibrationBinAnswer,
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)
from seedbank.sowing.learn_from_sowings import Garden, garden_state, learn_garden, pest_losses
from seedbank.sowing.sowing_rate import SeedToSow, SowingPlace
from seedbank.viability.answers import ForecastsOfASortAnswer, ForetoldTestsAnswer
from seedbank.viability.judge_foretold_tests import by_sort, judge_foretold_tests, share_of
from seedbank.viability.past_sowings import PastSowing
from seedbank.viability.sown_evidence import SownEvidence
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

    ``advice`` is the sowing of least cost for the plants wanted. None: none were.
    """

    past: PastSowing
    counts: HeldSowing
    advice: RateAdvice | None

    def good(self, advice: RateAdvice, units: float) -> bool:
        """Whether so many units would have given a good crop, at the share that really came up."""
        bed = advice.bed
        places = bed.places if bed.crop.way in PLACES else 1
        return bed.crop.of_units(units, places, _left(self)) >= GOOD_CROP - 1e-9


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
        stock = held_before(session, garden.sowings)
        let_go(session)
        last = _RECORD.last(session)
        if last is not None and last.garden is garden and last.tests is tests:
            return last
        years = foretell(garden.sown, stock, last.years if last else {})
        return _Judged(garden, tests, years, score_forecasts(years, tests))

    return _RECORD.get(session, state, judge).answer


def held_before(session: Session, sowings: Sequence[PastSowing]) -> dict[int, int]:
    """What the lot held before each sowing, by the movement that took its seed.

    Of sowings whose seed no movement took, or of lots nobody had counted, nothing.
    """
    ids = [sowing.movement_id for sowing in sowings if sowing.movement_id is not None]
    query = select(Movement.id, Movement.balance_seeds, Movement.seeds)
    rows = session.exec(query.where(col(Movement.id).in_(ids)))
    return {
        row_id(number): left - taken
        for number, left, taken in rows
        if left is not None and taken is not None
    }


def score_forecasts(years: Years, tests: ForetoldTestsAnswer) -> ForecastRecordAnswer:
    """Compare what was foretold with what came; ``tests`` are judged already."""
    foretold = [one for year in years.values() for one in year]
    past = [one.past for one in foretold]
    first = min((sowing.sown_on.year for sowing in past), default=0)
    held = [one.counts for one in foretold]
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


def foretell(sown: SownEvidence, stock: Mapping[int, int], known: Years) -> Years:
    """What was foretold of each year's sowings; years ``known`` already are not foretold again.

    ``stock`` is what the lots held before, by movement.
    """
    year_of = np.array([one.sown_on.year if one.record.trials else 0 for one in sown.sowings])
    years: Years = {}
    so_far = blake2b()
    for year in np.unique(year_of[year_of > 0]).tolist():
        own = np.flatnonzero(year_of == year).tolist()
        held = {at: stock.get(sown.sowings[at].movement_id or 0) for at in own}
        for at in own:
            so_far.update(repr((sown.sowings[at], held[at])).encode())
            so_far.update(np.round(sown.seed_by_tests[at], 5).tobytes())
        key = so_far.digest()
        if key in known:
            years[key] = known[key]
            continue
        earlier = np.flatnonzero((year_of > 0) & (year_of < year))
        before = [sown.sowings[at] for at in earlier.tolist()]
        model = learn_shift(
            published_shift_prior(),
            [one.record for one in before],
            sown.seed_by_tests[earlier],
            taken(sown.counts, earlier),
        )
        pests = pest_losses(before)
        years[key] = [
            _one(sown.sowings[at], _seed(sown.seed_by_tests[at]), held[at], model, pests)
            for at in own
        ]
    return years


def _seed(law: FloatArray) -> WeightedNodes:
    likely = law > 0.0
    return WeightedNodes(GRID[likely], law[likely])


def _one(
    sowing: PastSowing,
    seed: WeightedNodes,
    held: int | None,
    model: FieldShiftModel,
    pests: Mapping[str, PestLoss],
) -> _Foretold:
    record, wanted = sowing.record, sowing.plants_wanted
    law = model.predict(record.conditions).law
    pest = pests[record.conditions.protection].share
    asleep = lost_share(sowing.ready, None)
    emergence = emergence_nodes(seed, law, asleep)
    counts = hold_against(ForetoldSowing(emergence, record.trials, record.emerged, record.patches))
    if not wanted:
        return _Foretold(sowing, counts, None)
    place = SowingPlace(
        sowing.facts,
        SowingMethod(record.conditions.method),
        usual_spacing_cm(sowing.facts),
        law,
        lost_share(sowing.ready, pest),
        record.patches,
    )
    return _Foretold(sowing, counts, place.advise(SeedToSow(seed, held), wanted))


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
    asked = [(one, one.advice) for one in foretold if one.advice is not None]
    if not asked:
        return None
    sown = np.array([one.past.record.sown for one, _ in asked])
    advised = np.array([advice.units for _, advice in asked])
    more = sown - advised
    good_as_sown = [one.good(advice, one.past.record.sown) for one, advice in asked]
    good_as_advised = [one.good(advice, advice.units) for one, advice in asked]
    return SavedAnswer(
        sowings=len(asked),
        plants_wanted=sum(advice.bed.crop.wanted for _, advice in asked),
        seeds_sown=int(sown.sum()),
        seeds_advised=int(advised.sum()),
        oversown=int((more > 0).sum()),
        seeds_saved=int(more[more > 0].sum()),
        undersown=int((more < 0).sum()),
        seeds_short=int(-more[more < 0].sum()),
        good_as_sown=_certain_share(sum(good_as_sown), len(asked)),
        good_as_advised=_certain_share(sum(good_as_advised), len(asked)),
        promised_pct=round(100.0 * float(np.mean([a.outlook.good_first for _, a in asked])), 1),
    )


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
        kind=past.facts.slug,
        sown_on=past.sown_on,
        seeds=past.record.trials,
        expected=round(one.counts.counts.mean, 1),
        low=one.counts.counts.range.low,
        high=one.counts.counts.range.high,
        low_50=one.counts.counts.likely.low,
        high_50=one.counts.counts.likely.high,
        emerged=past.record.emerged,
        plants_wanted=past.plants_wanted,
        seeds_advised=None if one.advice is None else one.advice.units,
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
