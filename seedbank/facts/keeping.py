"""How long each kind keeps: published evidence turned into one prior, with what it rests on."""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import scipy

from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.facts.sources import Basis, Confidence, Fact, Source
from seedbank.facts.storage_rows import KeepingFitRow
from seedbank.facts.tables import load_rows
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    ORDINARY_STORE,
    Isotherm,
    ViabilityConstants,
    sigma_days,
)
from seedbank.science.viability.prior import (
    OWN_WORD,
    OWN_WORD_SD,
    UNKNOWN_MINIMUM,
    KeepingEstimate,
    KeepingModel,
    estimate_keeping,
    initial_viability,
)

CONSTANTS, HALF_VIABILITY, LISTS = 0, 1, 2
SORTS = ("constants", "half_viability", "lists")
LEAST_RESIDUAL = (0.05, 0.05, 0.30)
"""Lists copy one another: held from agreeing better than this; our choice."""
_WEAK_SD = {
    Confidence.READ: 0.0,
    Confidence.OWN: 0.0,
    Confidence.COMPUTED: 0.10,
    Confidence.MEMORY: 0.30,
}  # our choice
_LOW_AUTHORITY_SD = 0.30  # lists of blogs and undated copies: our choice
_LOW_AUTHORITY = "low authority"
_BORROWED_SD = 0.5  # constants of another species: our choice
_UNSURE_SD = 0.5  # a doubtful recollection: our choice
_USUAL_OIL_FRACTION = 0.20
_ORDINARY_TEMP_C = (10.0, 30.0)
_LEAST_FALL = 0.4  # probits; keeps a list's years from meaning too much where the minimum is high
_RECALCITRANT_LOG_SIGMA = float(np.log(120.0))
_RECALCITRANT_SD = 1.2


@dataclass(frozen=True, slots=True)
class KeepingPrior:
    """The viability equation for a kind, levelled to all the evidence, and its spread.

    ``constants`` reproduce ``estimate`` at the ordinary store and carry the published response to
    moisture and temperature. ``own_constants`` says whether that response is the kind's own.
    ``recalled_share`` (0..1) is the share of the evidence's weight that was recalled, not read;
    what kinds at large say counts as computed. ``applies`` is false where the equation is not
    known to hold (recalcitrant or unlisted).
    """

    constants: ViabilityConstants
    isotherm: Isotherm
    estimate: KeepingEstimate
    own_constants: bool
    applies: bool
    evidence_rows: int
    recalled_share: float
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    sort: int
    log_sigma: float
    extra_sd: float
    sources: tuple[Source, ...]


@cache
def keeping_model() -> KeepingModel:
    """The fit over every packaged kind, from ``keeping_fit.csv``, so that no start waits for it."""
    found = {
        (row.figure, row.sort): row.value
        for row in load_rows("keeping_fit", KeepingFitRow, "computed")
    }
    return KeepingModel(
        sort_offset=np.array([found["sort_offset", sort] for sort in SORTS]),
        residual_sd=np.array([found["residual_sd", sort] for sort in SORTS]),
        kinds_mean=found["kinds_mean", ""],
        kinds_sd=found["kinds_sd", ""],
        common_sd=found["common_sd", ""],
        kinds_compared=int(found["kinds_compared", ""]),
    )


@cache
def packaged_keeping(slug: str) -> KeepingPrior:
    """The prior of a packaged kind."""
    return keeping_prior(packaged_kinds()[slug])


def keeping_prior(facts: KindFacts) -> KeepingPrior:
    """The prior of one kind, packaged or the gardener's own."""
    rows = evidence_of(facts)
    model = keeping_model()
    estimate = estimate_keeping(
        model,
        np.array([row.sort for row in rows], dtype=np.int64),
        np.array([row.log_sigma for row in rows], dtype=np.float64),
        np.array([row.extra_sd for row in rows], dtype=np.float64),
    )
    if facts.cannot_be_stored:
        estimate = KeepingEstimate(_RECALCITRANT_LOG_SIGMA, _RECALCITRANT_SD, 0.0)
    response = _response(facts)
    isotherm = kind_isotherm(facts)
    level = estimate.log_sigma - float(np.log(_sigma_at_ordinary(response, isotherm)))
    constants = ViabilityConstants(
        response.k_e + level / np.log(10.0), response.c_w, response.c_h, response.c_q
    )
    return KeepingPrior(
        constants=constants,
        isotherm=isotherm,
        estimate=estimate,
        own_constants=facts.viability_constants is not None,
        applies=facts.storage_class.value == "orthodox",
        evidence_rows=len(rows),
        recalled_share=estimate.own_share * _recalled(rows, model),
        sources=tuple(dict.fromkeys(source for row in rows for source in row.sources))
        + (_RESPONSE_SOURCE if facts.viability_constants is None else ()),
    )


def _recalled(rows: list[Evidence], model: KeepingModel) -> float:
    """Share of the rows' weight that rests on recalled sources."""
    if not rows:
        return 0.0
    spread = [OWN_WORD_SD if row.sort == OWN_WORD else model.residual_sd[row.sort] for row in rows]
    weight = 1.0 / (np.array(spread) ** 2 + np.array([row.extra_sd for row in rows]) ** 2)
    recalled = [
        np.mean([one.confidence is Confidence.MEMORY for one in row.sources]) for row in rows
    ]
    return float(np.average(recalled, weights=weight))


def kind_isotherm(facts: KindFacts) -> Isotherm:
    """How the kind's seed follows the air; a usual oil content stands in where none is known."""
    points = sorted(
        (fact.value.rh_pct, fact.value.moisture_pct)
        for fact in facts.moisture_equilibrium
        if fact.value.temp_c is not None and abs(fact.value.temp_c - 25.0) < 1.0
    )
    by_rh = dict(points)
    oil = facts.oil_content_pct
    return Isotherm(
        oil_fraction=_USUAL_OIL_FRACTION if oil is None else oil.value.typical / 100.0,
        table_rh_pct=tuple(by_rh) if len(by_rh) >= 3 else (),
        table_moisture_pct=tuple(by_rh.values()) if len(by_rh) >= 3 else (),
    )


UNIVERSAL_C_H, UNIVERSAL_C_Q = 0.0329, 0.000478
USUAL_C_W = 4.8
_RESPONSE_SOURCE = (
    Source(
        "Dickie, Ellis, Kraak, Ryder & Tompsett 1990, Annals of Botany 65:197-204 "
        "(universal temperature constants)",
        Confidence.READ,
    ),
    Source("C_W 4.8, about the mean of the published kinds", Confidence.COMPUTED),
)


def _response(facts: KindFacts) -> ViabilityConstants:
    if facts.viability_constants is not None:
        own = facts.viability_constants.value
        return ViabilityConstants(own.k_e, own.c_w, own.c_h, own.c_q)
    return ViabilityConstants(0.0, USUAL_C_W, UNIVERSAL_C_H, UNIVERSAL_C_Q)


def _sigma_at_ordinary(constants: ViabilityConstants, isotherm: Isotherm) -> float:
    temp = np.array([ORDINARY_STORE.temp_winter_c])
    moisture = isotherm.moisture_pct(np.array([ORDINARY_STORE.rh_winter_pct]), temp)
    return float(sigma_days(constants, moisture, temp)[0])


def evidence_of(facts: KindFacts) -> list[Evidence]:
    """At most one row a sort: lists copy one another, so they are averaged, not counted."""
    minimum = facts.minimum_germination_pct
    floor = np.array([UNKNOWN_MINIMUM if minimum is None else minimum.value / 100.0])
    start = float(initial_viability(floor, np.array([True]))[0][0])
    fall = max(start - float(scipy.special.ndtri(floor)[0]), _LEAST_FALL)
    rows = [_constants_evidence(facts, start), _half_evidence(facts, start)]
    if facts.longevity:
        years = [0.5 * (f.value.years_low + f.value.years_high) for f in facts.longevity]
        weak = np.array([_weakness(fact) for fact in facts.longevity])
        mean = float(
            np.average(np.log(years), weights=1.0 / (LEAST_RESIDUAL[LISTS] ** 2 + weak**2))
        )
        cited = tuple(dict.fromkeys(f.cited for f in facts.longevity))
        log_sigma = mean + float(np.log(DAYS_PER_YEAR / fall))
        rows.append(Evidence(LISTS, log_sigma, float(weak.min()), cited))
    return [row for row in rows if row is not None]


def _weakness(fact: Fact[Any], unsure: bool = False) -> float:
    """Spread, in log years, that a figure's confidence adds to what its sort already has."""
    parts = (
        _WEAK_SD[fact.confidence],
        _BORROWED_SD if fact.basis is Basis.STAND_IN else 0.0,
        _UNSURE_SD if unsure else 0.0,
        _LOW_AUTHORITY_SD if _LOW_AUTHORITY in fact.source else 0.0,
    )
    return float(np.linalg.norm(parts))


def _constants_evidence(facts: KindFacts, start: float) -> Evidence | None:
    isotherm = kind_isotherm(facts)
    if facts.viability_constants is not None:
        fact = facts.viability_constants
        own = fact.value
        constants = ViabilityConstants(own.k_e, own.c_w, own.c_h, own.c_q)
        log_sigma = float(np.log(_sigma_at_ordinary(constants, isotherm)))
        return Evidence(CONSTANTS, log_sigma, _weakness(fact, own.unsure), (fact.cited,))
    if facts.older_constants is not None:
        older = facts.older_constants.value
        temp = ORDINARY_STORE.temp_winter_c
        moisture = isotherm.moisture_pct(np.array([ORDINARY_STORE.rh_winter_pct]), np.array([temp]))
        p50 = 10.0 ** (older.k_v - older.c_1 * float(moisture[0]) - older.c_2 * temp)
        weak = _weakness(facts.older_constants, unsure=True)
        cited = (facts.older_constants.cited,)
        return Evidence(CONSTANTS, float(np.log(p50 / start)), weak, cited)
    return None


def _half_evidence(facts: KindFacts, start: float) -> Evidence | None:
    """Half-viability in an ambient store; hot or sealed trials are left to the constants."""
    usable = []
    for fact in facts.half_viability:
        row = fact.value
        own = fact.confidence is Confidence.OWN
        ambient = row.temp_c is None and "open storage" in row.storage
        if row.temp_c is not None and row.moisture_pct is None:
            ambient = _ORDINARY_TEMP_C[0] <= row.temp_c <= _ORDINARY_TEMP_C[1]
        if row.p50_years is not None and (ambient or own):
            usable.append(fact)
    sure = [fact for fact in usable if not fact.value.unsure]
    own_word = [f for f in sure if f.confidence is Confidence.OWN]
    chosen = own_word or sure or usable
    if not chosen:
        return None
    years = [fact.value.p50_years for fact in chosen if fact.value.p50_years is not None]
    log_sigma = float(np.mean(np.log(years)) + np.log(DAYS_PER_YEAR / start))
    extra = min(_weakness(fact, fact not in sure) for fact in chosen)
    sort = OWN_WORD if own_word else HALF_VIABILITY
    return Evidence(sort, log_sigma, extra, tuple(f.cited for f in chosen))
