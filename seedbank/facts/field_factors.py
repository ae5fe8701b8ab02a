"""The packaged field-emergence table read as probit shifts, and each kind's need for warmth."""

from dataclasses import dataclass, replace
from functools import cache

from seedbank.facts import loaders
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.facts.names import resolve, slugify
from seedbank.facts.sources import Basis, Confidence, Source
from seedbank.science.sowing.field_shift_prior import (
    FieldFactor,
    ShiftPrior,
    calibrate_shift_prior,
)
from seedbank.science.sowing.soil_warmth import (
    TemperatureCurve,
    TemperatureRow,
    generic_curve,
    temperature_curve,
)

_TABLE = "field_emergence"
_ANY_VEGETABLE = "vegetables (any)"
# The steps of the recalled seedbed scale, by the conditions it prints.
_STEPS = {
    "cold, wet, capped or cloddy seedbed": "poor",
    "average seedbed": "average",
    "warm, moist, fine seedbed": "fine",
    "sown in modules or trays under cover": "under-cover",
}
# A kind's rows for one named seedbed only; its row over all seedbeds already averages them.
_ONE_SEEDBED = ("good seedbed", "poor seedbed")


@dataclass(frozen=True, slots=True)
class WarmthNeed:
    """A kind's emergence against soil temperature; ``curve`` None where nothing is known."""

    curve: TemperatureCurve | None
    sources: tuple[Source, ...]


@cache
def field_factors() -> tuple[FieldFactor, ...]:
    """Factors for garden kinds and seedbeds; kinds by slug.

    Left out: cereals, whose figures are establishment (germination included), the formulas, and
    rows for one seedbed of a kind that also has a row over all.
    """
    found = []
    for row in loaders.field_emergence():
        if row.kind == _ANY_VEGETABLE:
            kind, setting = slugify(row.kind), _STEPS[row.conditions]
        elif resolve(_TABLE, row.kind) and not row.conditions.startswith(_ONE_SEEDBED):
            kind, setting = slugify(row.kind), "field"
        else:
            continue
        found.append(FieldFactor(kind, setting, row.factor, row.factor_low, row.factor_high))
    return tuple(found)


@cache
def published_shift_prior() -> ShiftPrior:
    """The shift before any sowing of one's own; kinds of one species share a printed figure."""
    prior = calibrate_shift_prior(field_factors())
    kinds = dict(prior.kinds)
    for printed in dict.fromkeys(row.kind for row in loaders.field_emergence()):
        offset = prior.kinds.get(slugify(printed))
        for slug, (basis, _) in resolve(_TABLE, printed).items():
            if offset is not None and basis is not Basis.OWN:
                kinds[slug] = offset
    return replace(prior, kinds=kinds)


@cache
def shift_prior_sources() -> tuple[Source, ...]:
    """Sources of the seedbed scale, which every prediction rests on."""
    rows = (row for row in loaders.field_emergence() if row.kind == _ANY_VEGETABLE)
    return tuple(dict.fromkeys(row.source for row in rows))


def temperature_curve_for(facts: KindFacts) -> WarmthNeed:
    """Curve from the kind's printed rows, else from its minimum, optimum and maximum; under the
    minimum, where sowing begins to make sense, from the base temperature trials found.

    Where no optimum is printed the middle of the printed range stands in.
    """
    if packaged_kinds().get(facts.slug) == facts:
        return _packaged_need(facts.slug)
    return _need(facts)


@cache
def _packaged_need(slug: str) -> WarmthNeed:
    return _need(packaged_kinds()[slug])


def _need(facts: KindFacts) -> WarmthNeed:
    minimum, rows = facts.soil_min_c, facts.emergence_by_temperature
    printed = [
        TemperatureRow(fact.value.soil_temp_c, fact.value.days, fact.value.emergence_pct)
        for fact in rows
    ]
    curve = temperature_curve(printed, minimum.value if minimum else None)
    if curve is not None:
        cited = [fact.cited for fact in rows] + ([minimum.cited] if minimum else [])
        return WarmthNeed(curve, tuple(dict.fromkeys(cited)))
    return _need_from_limits(facts)


def _need_from_limits(facts: KindFacts) -> WarmthNeed:
    low, best, high = facts.soil_min_c, facts.soil_opt_c, facts.soil_max_c
    sources = [fact.cited for fact in (low, best, high) if fact is not None]
    if best is not None:
        optimum = best.value
    elif facts.soil_range_c is not None:
        optimum = (facts.soil_range_c.value.low + facts.soil_range_c.value.high) / 2.0
        sources.append(Source("middle of the printed soil temperatures", Confidence.COMPUTED))
    else:
        return WarmthNeed(None, ())
    trials = [fact for fact in facts.germination_temperatures if fact.confidence is Confidence.READ]
    bases = [fact.value.base_c for fact in trials if fact.value.base_c is not None]
    ceilings = [fact.value.ceiling_c for fact in trials if fact.value.ceiling_c is not None]
    sources += [fact.cited for fact in trials]
    base = sum(bases) / len(bases) if bases else None
    maximum = None if high is None else high.value
    if maximum is None and ceilings:
        maximum = sum((one.low + one.high) / 2.0 for one in ceilings) / len(ceilings)
    if low is None or low.value >= optimum or (maximum is not None and maximum < optimum):
        return WarmthNeed(None, ())
    curve = generic_curve(low.value, optimum, maximum, base)
    return WarmthNeed(curve, tuple(dict.fromkeys(sources)))
