"""How well emergence was foretold, and the seed that sowing by the forecast would have saved.

Each sowing is foretold as it would have been that spring: from the sowings of earlier years, so
none helps to foretell itself. Only the lot's viability knows more than was known then: it uses
every test made since.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from weakref import WeakKeyDictionary

import numpy as np
from sqlalchemy import Pool
from sqlmodel import Session

from seedbank.science.emergence import WeightedNodes, emergence_nodes
from seedbank.science.emergence_calibration import ForetoldSowing, judge_emergence_forecasts
from seedbank.science.plant_counts import (
    CountSummary,
    plants_pmf,
    probability_enough,
    summarise_counts,
)
from seedbank.science.proportion import proportion_interval
from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.seed_need import smallest_seeds
from seedbank.service.answers.base import PercentAnswer, Source
from seedbank.service.answers.forecast_record import (
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)
from seedbank.service.garden_record import Garden, Stamp, garden_stamp, learn_from, learn_garden
from seedbank.service.sowing_history import PastSowing

CONFIDENCE = 0.90
_LEVEL = 0.90
_Z = 1.6448536269514722  # a central 90 % interval reaches this many standard errors
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
_KEPT: WeakKeyDictionary[Pool, tuple[Stamp, ForecastRecordAnswer]] = WeakKeyDictionary()


@dataclass(frozen=True, slots=True)
class _Foretold:
    """A sowing with what earlier years said of it: emergence, then plants after pests too."""

    past: PastSowing
    emergence: WeightedNodes
    plants: WeightedNodes
    counts: CountSummary

    @property
    def judged(self) -> ForetoldSowing:
        record = self.past.record
        return ForetoldSowing(self.emergence, record.trials, record.emerged, record.patches)


def judge_forecasts(session: Session, *, today: date) -> ForecastRecordAnswer:
    """The record so far; kept in memory while nothing it rests on has changed."""
    stamp = (today, *garden_stamp(session))
    pool = session.get_bind().engine.pool
    kept = _KEPT.get(pool)
    if kept is None or kept[0] != stamp:
        kept = (stamp, judge_sowings(learn_garden(session, today=today).sowings))
        _KEPT[pool] = kept
    return kept[1]


def judge_sowings(sowings: Sequence[PastSowing]) -> ForecastRecordAnswer:
    """Foretell each sowing from the years before it, and compare."""
    told = [sowing for sowing in sowings if sowing.record.trials > 0]
    first = min((sowing.sown_on.year for sowing in told), default=0)
    foretold = _foretell(told)
    judged = judge_emergence_forecasts([one.judged for one in foretold])
    errors = np.array([_error(one) for one in foretold])
    mean, low, high = _mean_error(errors)
    alone = sum(sowing.sown_on.year == first for sowing in told)
    return ForecastRecordAnswer(
        sowings=len(foretold),
        inside_50=_share(round(judged.inside_50 * len(told)) if told else 0, len(told)),
        inside_90=_share(round(judged.inside_90 * len(told)) if told else 0, len(told)),
        mean_error_points=mean,
        mean_error_low_points=low,
        mean_error_high_points=high,
        saved=_saved(foretold),
        items=[_item(one) for one in foretold],
        reasons=_reasons(len(told), alone),
        sources=_SOURCES,
    )


def _foretell(sowings: Sequence[PastSowing]) -> list[_Foretold]:
    found = []
    for year in sorted({sowing.sown_on.year for sowing in sowings}):
        before = learn_from(tuple(s for s in sowings if s.sown_on.year < year))
        found += [_one(s, before) for s in sowings if s.sown_on.year == year]
    return found


def _one(sowing: PastSowing, before: Garden) -> _Foretold:
    record = sowing.record
    shift = before.shift_model.predict(record.conditions)
    pest = before.pests[record.conditions.protection].share
    known = (record.viability, shift.mean, shift.sd)
    emergence = emergence_nodes(*known, ready=record.ready)
    counts = summarise_counts(plants_pmf(emergence, record.trials, record.patches))
    return _Foretold(sowing, emergence, emergence_nodes(*known, pest, record.ready), counts)


def _error(one: _Foretold) -> float:
    record = one.past.record
    return (record.emerged - one.counts.mean) / record.trials


def _mean_error(errors: FloatArray) -> tuple[float | None, float | None, float | None]:
    """Mean with its 90 % interval, in percentage points; no interval from one sowing."""
    if errors.size == 0:
        return None, None, None
    mean = 100.0 * float(errors.mean())
    if errors.size == 1:
        return round(mean, 1), None, None
    reach = 100.0 * _Z * float(errors.std(ddof=1)) / float(np.sqrt(errors.size))
    return round(mean, 1), round(mean - reach, 1), round(mean + reach, 1)


def _saved(foretold: Sequence[_Foretold]) -> SavedAnswer | None:
    asked = [one for one in foretold if one.past.plants_wanted]
    if not asked:
        return None
    wanted = np.array([one.past.plants_wanted or 0 for one in asked])
    sown = np.array([one.past.record.sown for one in asked])
    advised = np.array([_advised(one, int(w)) for one, w in zip(asked, wanted, strict=True)])
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
        promised_pct=round(100.0 * float(np.mean(_promised(asked, advised, wanted))), 1),
    )


def _promised(asked: Sequence[_Foretold], advised: IntArray, wanted: IntArray) -> list[float]:
    """Chance each advised amount had: under the confidence asked where the lot was too small."""
    return [
        float(probability_enough(one.plants, int(seeds), int(plants), one.past.record.patches))
        for one, seeds, plants in zip(asked, advised, wanted, strict=True)
    ]


def _advised(one: _Foretold, wanted: int) -> int:
    """Seeds for the plants wanted, or all that the lot held where that would not do."""
    past = one.past
    most = past.record.sown if past.held is None else past.held
    seeds = smallest_seeds(one.plants, wanted, CONFIDENCE, past.record.patches, most)
    return most if seeds is None else seeds


def _left(one: _Foretold) -> float:
    """Share of sown seed that really came up and was not eaten."""
    record, eaten = one.past.record, one.past.eaten
    return record.emerged / record.trials * (1.0 - eaten.eaten / eaten.sown)


def _item(one: _Foretold) -> ForetoldAnswer:
    past = one.past
    return ForetoldAnswer(
        sowing=past.sowing_id,
        lot=past.lot,
        kind=past.kind,
        sown_on=past.sown_on,
        seeds=past.record.trials,
        expected=round(one.counts.mean, 1),
        low=one.counts.range.low,
        high=one.counts.range.high,
        emerged=past.record.emerged,
    )


def _share(hits: int, of: int) -> PercentAnswer | None:
    return _certain_share(hits, of) if of else None


def _certain_share(hits: int, of: int) -> PercentAnswer:
    return PercentAnswer.of(hits / of, proportion_interval(hits, of, _LEVEL))


def _reasons(sowings: int, alone: int) -> list[str]:
    if not sowings:
        return ["No sowing is finished and counted yet."]
    return [
        f"Of {sowings} sowings {alone} are of the first year and had only published losses to go "
        "by.",
        "Each lot's viability on its sowing day uses every test made since.",
        "Counts lost to known causes (eaten, frost, drought) are left out of what was to come up.",
    ]
