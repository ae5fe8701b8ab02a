"""What lies ahead of each lot: how alive it will be at its sowing times, and what that leads to."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from scipy.special import ndtr

from seedbank.facts.growing import under_cover_factor
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Confidence, Fact
from seedbank.science.quantities import (
    BAND_QUANTILES,
    USUAL_CONFIDENCE,
    BoolArray,
    FloatArray,
    IntArray,
    joined,
    slices,
    taken,
)
from seedbank.science.sowing.emergence import shift_of_factor
from seedbank.science.sowing.lot_thickness import UsualRates
from seedbank.science.verdicts.line_decision import (
    SEASONS,
    LineDecision,
    Lines,
    decide,
    losses_by_chance,
)
from seedbank.science.verdicts.regeneration import (
    regeneration_viability,
    viability_needed,
    viability_needed_in_field,
)
from seedbank.science.verdicts.row_decision import (
    RowDecision,
    Rows,
    RowsAhead,
    decide_rows,
    rows_ahead,
)
from seedbank.science.verdicts.verdict import Keepers
from seedbank.science.viability.decline import DAYS_PER_YEAR, OUTLIVED_YEARS
from seedbank.science.viability.posterior import Posterior
from seedbank.science.viability.prior import nodes_from_quantiles
from seedbank.verdicts.surroundings import SowingTime
from seedbank.verdicts.usual_row import rates_of, usual_row
from seedbank.viability.forecast_viability import Forecast
from seedbank.viability.tables.stock_columns import Collection, day_date, day_number

# Our choices.
USABLE_VIABILITY = 0.30
PARENTS_CONFIDENCE = USUAL_CONFIDENCE  # of raising the seed parents, asking what that takes
USUAL_PARENTS = 10.0  # common practice, no single source: where the kind has no figure
USUAL_YEARS_BETWEEN = 3.0  # seed crops of kinds without a figure: common practice
CURVE_YEARS = (0.0, 1.0, 3.0, 6.0, float(SEASONS))
"""Years from the next sowing time at which a lot's decline is worked out; straight lines between,
in probits, are within 0.01 of the rest."""
FLEETING_EMERGENCE = 0.5  # of seed that can't be stored, of which nothing is foretold
FIRST_SPRING_YEARS = 0.5  # from harvest to the next spring
_NEARLY_SURE = 1.0 - 1e-9
_AT_ONCE = 1000  # lots laid out season by season
_QUANTILES = len(BAND_QUANTILES)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of each lot, (L, ...): its dose today, its doses (L, A, Z) at ``CURVE_YEARS``
    from its next sowing time, and the viability that raises its seed parents."""

    today: FloatArray
    curve: FloatArray
    needed: FloatArray


@dataclass(frozen=True, slots=True)
class Chances:
    """The answers, (L,). ``quantiles`` (L, 5) are today's probits, ``curve`` (L, A, 5) those at
    ``CURVE_YEARS``; ``parents`` (2, L) the chance of raising the seed parents at the next sowing
    time and a season later."""

    quantiles: FloatArray
    curve: FloatArray
    initial: FloatArray
    parents: FloatArray
    below_regeneration: FloatArray
    usable: FloatArray


def lot_chances(posterior: Posterior, asked: Asked) -> Chances:
    """Ask it all. ``initial`` is the viability at harvest, by the mean probit."""
    curves = len(CURVE_YEARS) * _QUANTILES
    table = np.empty((posterior.size, _QUANTILES + curves + 5))
    for lots, part in posterior.in_parts():
        table[lots] = _of_part(part, taken(asked, lots))
    quantiles, curve, rest = np.split(table, [_QUANTILES, _QUANTILES + curves], axis=1)
    initial, now, later, below, usable = rest.T.copy()
    # No lot is certain: where the quadrature leaves nothing over 1 it has run out of figures.
    below, usable = np.clip([below, usable], 1.0 - _NEARLY_SURE, _NEARLY_SURE)
    return Chances(
        quantiles.copy(),
        np.minimum.accumulate(curve.reshape(posterior.size, len(CURVE_YEARS), _QUANTILES), axis=1),
        initial,
        np.minimum([now, later], _NEARLY_SURE),
        below,
        usable,
    )


def _of_part(posterior: Posterior, asked: Asked) -> FloatArray:
    """Answers of some lots, a row each."""
    initial = ndtr(posterior.probit_mean(np.zeros(posterior.size)))
    chance = posterior.probability_at_least
    doses = [asked.curve[:, at] for at in range(len(CURVE_YEARS))]
    return np.column_stack(
        [
            posterior.probit_quantile(BAND_QUANTILES, asked.today),
            *(posterior.probit_quantile(BAND_QUANTILES, dose) for dose in doses),
            initial,
            *(chance(asked.needed, dose) for dose in doses[:2]),
            1.0 - chance(regeneration_viability(initial), asked.today),
            chance(USABLE_VIABILITY, asked.today),
        ]
    )


def viability_for_parents(seeds: FloatArray, parents: FloatArray) -> FloatArray:
    """Viability that raises so many parents from so many seeds, under cover, with confidence."""
    return viability_needed_in_field(
        viability_needed(np.maximum(seeds, 0.0), parents, PARENTS_CONFIDENCE), under_cover_shift()
    )


def under_cover_shift() -> float:
    """Probits by which seed raised in modules under cover comes up worse than it germinates."""
    return float(shift_of_factor(under_cover_factor().value))


def parents_fact(facts: KindFacts) -> Fact[int] | None:
    """The seed parents a home saver wants: the gardener's own figure, else the practical one, else
    the fewest viable. None: nobody gives any."""
    own = facts.seed_parents_maintain
    if own is not None and own.confidence is Confidence.OWN:
        return own
    return facts.seed_parents_practical or facts.seed_parents_viable or own


def parents_wanted(facts: KindFacts) -> float:
    """That number, or the usual one where nobody gives any."""
    fact = parents_fact(facts)
    return USUAL_PARENTS if fact is None else float(fact.value)


def by_kind(forecast: Forecast, read: Callable[[KindFacts], float]) -> FloatArray:
    """One figure a kind, laid out over the lots."""
    kinds, at = np.unique(forecast.collection.kind_id, return_inverse=True)
    figures = np.array([float(read(forecast.facts[kind])) for kind in kinds.tolist()])
    return figures[at] if figures.size else np.zeros(0)


def first_days(forecast: Forecast, times: Mapping[int, SowingTime]) -> FloatArray:
    """The day of each lot's next sowing time, (L,), as a day number."""
    day = {kind: day_number(one.sown_on) for kind, one in times.items()}
    kinds = forecast.collection.kind_id.tolist()
    return np.array([day[kind] for kind in kinds], dtype=np.float64)


def curve_doses(forecast: Forecast, first_day: FloatArray) -> FloatArray:
    """Doses (L, A, Z) at ``CURVE_YEARS`` from the next sowing time."""
    doses = [forecast.dose_on(first_day + DAYS_PER_YEAR * years) for years in CURVE_YEARS]
    return np.stack(doses, axis=1)


@dataclass(frozen=True, slots=True, eq=False)
class Prospects:
    """What lies ahead of each lot, (L,), if so many others keep its variety: ``line`` what is
    answered of a seed parent, ``row`` of rows, ``ahead`` for how long. ``line_losses`` (L, 2, N)
    are ``losses_by_chance``, ``alive`` (L, N) probit viability at the next season of a seed crop,
    ``row_alive`` at the next sowing time of rows; ``row_plants`` stand in a row of 3 m."""

    keepers: IntArray
    line: LineDecision
    line_losses: FloatArray
    row: RowDecision
    ahead: RowsAhead
    alive: FloatArray
    row_alive: FloatArray
    parents_wanted: FloatArray
    row_plants: FloatArray


def prospects_of(
    forecast: Forecast, curve: FloatArray, first_day: FloatArray, row_day: FloatArray
) -> tuple[Prospects, Prospects]:
    """Decide on every lot by itself, as seed parent and for rows: as things stand, and if many
    others kept what nobody has told of.

    ``curve`` begins at ``first_day``, the next season of a seed crop; rows are sown on ``row_day``,
    up to a year before, by the fall of the first year carried back.

    All seasons are laid out for some lots at a time, so that few numbers a lot remain.
    """
    lots = forecast.collection
    ages = (first_day - forecast.ages.harvest_day) / DAYS_PER_YEAR - FIRST_SPRING_YEARS
    keepers = keepers_reckoned(lots)
    rows = {kind: usual_row(facts) for kind, facts in forecast.facts.items()}
    usual = [rows[kind] for kind in lots.kind_id.tolist()]
    every = _Lots(
        seeds=np.maximum(lots.balance, 0.0),
        parents_wanted=np.maximum(by_kind(forecast, parents_wanted), 1.0),
        keepers=keepers,
        if_common=np.where(lots.keepers_unknown, Keepers.MANY, keepers),
        biennial=by_kind(forecast, lambda f: f.flowers_next_year) > 0,
        every_years=by_kind(forecast, years_between),
        since_crop_years=np.maximum(np.nan_to_num(ages), 0.0),
        curve=curve,
        fleeting=by_kind(forecast, lambda f: f.cannot_be_stored) > 0,
        lifeless=forecast.planting_stock | outlived(forecast),
        plants=np.array([one.plants for one in usual], dtype=np.float64),
        usual=rates_of(usual),
        sooner_years=np.maximum(first_day - row_day, 0.0) / DAYS_PER_YEAR,
    )
    found = joined([_decided(taken(every, part)) for part in slices(lots.size, _AT_ONCE)])
    row_alive = found.alive + every.sooner_years[:, None] * found.fall
    alive = np.where(outlived(forecast)[:, None], 0.0, ndtr(row_alive))
    row = decide_rows(Rows(every.seeds, alive, every.plants, every.usual))
    as_known, common = (
        Prospects(
            kept_by,
            line,
            losses,
            row,
            found.ahead,
            found.alive,
            row_alive,
            every.parents_wanted,
            every.plants,
        )
        for kept_by, line, losses in (
            (keepers, found.line, found.losses),
            (every.if_common, found.common_line, found.common_losses),
        )
    )
    return as_known, common


@dataclass(frozen=True, slots=True)
class _Lots:
    """What a decision on lots rests on, columns (L,); ``curve`` (L, A, 5)."""

    seeds: FloatArray
    parents_wanted: FloatArray
    keepers: IntArray
    if_common: IntArray
    biennial: BoolArray
    every_years: FloatArray
    since_crop_years: FloatArray
    curve: FloatArray
    fleeting: BoolArray
    lifeless: BoolArray
    plants: FloatArray
    usual: UsualRates
    sooner_years: FloatArray


@dataclass(frozen=True, slots=True)
class _Decided:
    """How alive lots will be (L, N), by how much less a year later, how long fit for rows, and what
    is decided on them: as told, and if common."""

    alive: FloatArray
    fall: FloatArray
    ahead: RowsAhead
    line: LineDecision
    losses: FloatArray
    common_line: LineDecision
    common_losses: FloatArray


def _decided(lots: _Lots) -> _Decided:
    alive = probits_ahead(lots.curve)
    emergence = ndtr(alive - under_cover_shift())
    emergence[0, lots.fleeting], emergence[1:, lots.fleeting] = FLEETING_EMERGENCE, 0.0
    emergence[:, lots.lifeless] = 0.0
    lines = Lines(
        seeds=lots.seeds,
        parents_wanted=lots.parents_wanted,
        emergence=emergence,
        keepers=lots.keepers,
        biennial=lots.biennial,
        every_years=lots.every_years,
        since_crop_years=lots.since_crop_years,
    )
    line = decide(lines)
    losses = losses_by_chance(lines, line)
    fall = alive[0] - alive[1]
    shares = ndtr(alive + lots.sooner_years[:, None] * fall)
    shares[:, lots.lifeless] = 0.0
    ahead = rows_ahead(Rows(lots.seeds, shares[0], lots.plants, lots.usual), shares)
    if np.array_equal(lots.if_common, lots.keepers):
        return _Decided(alive[0].copy(), fall, ahead, line, losses, line, losses)
    common = replace(lines, keepers=lots.if_common)
    common_line = decide(common)
    common_losses = losses_by_chance(common, common_line)
    return _Decided(alive[0].copy(), fall, ahead, line, losses, common_line, common_losses)


def probits_ahead(curve: FloatArray) -> FloatArray:
    """Probit viability (S, L, N) at the sowing time of this season and each of the following."""
    probits = _by_season(curve)
    alive = nodes_from_quantiles(probits.reshape(-1, _QUANTILES)).probit
    return alive.reshape(SEASONS + 1, curve.shape[0], alive.shape[-1])


def _by_season(curve: FloatArray) -> FloatArray:
    """Probits (S, L, 5) season by season, on straight lines between those worked out (L, A, 5)."""
    years = np.array(CURVE_YEARS)
    season = np.arange(SEASONS + 1, dtype=np.float64)
    place = np.clip(np.searchsorted(years, season, side="right") - 1, 0, years.size - 2)
    share = ((season - years[place]) / (years[place + 1] - years[place]))[:, None, None]
    columns = np.moveaxis(curve, 1, 0)
    return np.asarray(columns[place] + share * (columns[place + 1] - columns[place]))


def years_between(facts: KindFacts) -> float:
    """Years from one seed crop of a kind to the next, the middle of what is usual."""
    fact = facts.years_between_seed_crops
    return USUAL_YEARS_BETWEEN if fact is None else (fact.value.low + fact.value.high) / 2.0


def age_years(forecast: Forecast) -> FloatArray:
    """How old each lot is today, (L,); planting stock by its own count."""
    age = np.asarray((forecast.today - forecast.ages.harvest_day) / DAYS_PER_YEAR)
    for at in np.flatnonzero(forecast.planting_stock).tolist():
        age[at] = forecast.stock_age_years(at)
    return age


def outlived(forecast: Forecast) -> BoolArray:
    """Seed that can't be stored and is older than such seed lasts, (L,)."""
    fleeting = by_kind(forecast, lambda f: f.cannot_be_stored) > 0
    return fleeting & ~forecast.planting_stock & (age_years(forecast) > OUTLIVED_YEARS)


def keepers_reckoned(lots: Collection) -> IntArray:
    """Keepers of each lot's variety, (L,): few where nobody has said, as nothing is taken for
    common on a guess."""
    few = np.minimum(lots.other_keepers, Keepers.FEW)
    return np.where(lots.keepers_unknown, np.maximum(few, Keepers.FEW), lots.other_keepers)


def today_of(forecast: Forecast) -> date:
    """The day of a forecast."""
    today = day_date(forecast.today)
    assert today is not None
    return today
