"""How alive one lot is today, through its past and in years to come; what that rests on."""

from collections.abc import Sequence
from datetime import date

import numpy as np
from sqlmodel import Session

from seedbank.common.answers import (
    PercentAnswer,
    SeedViabilityPoint,
    Source,
    ViabilityPoint,
    distinct,
    finding_answers,
)
from seedbank.common.catalogue import text_of
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes
from seedbank.database.find import row_id
from seedbank.facts.sources import sources_of
from seedbank.lots.show_lots import lot_cautions, lot_entry, variety_brief
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.tables.mixtures import parts_of
from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.quantities import INTERVAL_ENDS, Band, Finding
from seedbank.science.verdicts.regeneration import regeneration_viability
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    OUTLIVED_YEARS,
    YearlyConditions,
    check_range,
    daily_conditions,
)
from seedbank.science.viability.failed_tests import MORE_SEEDS
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO, discount_counts
from seedbank.viability.answers import (
    MixtureAlive,
    MixturePartAlive,
    TestSeen,
    ThresholdAnswer,
    ViabilityAnswer,
)
from seedbank.viability.contradicting_tests import contradicting_tests
from seedbank.viability.forecast_viability import Forecast, crossing_days, forecast, refit
from seedbank.viability.hidden_circumstances import hidden_circumstances
from seedbank.viability.lot_records import NOWHERE, short_lived
from seedbank.viability.retest_day import FEWEST_SEEDS, retest_answer
from seedbank.viability.tables.change_topics import ALIVE
from seedbank.viability.tables.stock_columns import day_date, day_number
from seedbank.viability.what_taught import what_taught


def reasons(seen: Forecast, lot: int = 0) -> list[Finding]:
    """What the answer rests on."""
    if seen.collection.mixture[lot]:
        return [Finding("mixture-not-judged")]
    if seen.planting_stock[lot]:
        age, years = seen.stock_age_years(lot), seen.stock_keeps_years(lot)
        return [Finding("planting-stock-keeps", {"age_years": age, "keeps_years": years})]
    tests = seen.collection.tests.sound
    mine = np.flatnonzero(tests.lot == lot)
    wrong = int(np.count_nonzero(seen.collection.tests.lot == lot)) - mine.size
    fleeting = seen.facts_of(lot).cannot_be_stored
    found = [] if fleeting else [_how_long(seen, lot)]
    if short_lived(seen.collection)[lot] and not fleeting:
        found.append(Finding("viability-pelleted"))
    found += recalled(seen, lot)
    if mine.size:
        seeds = int(tests.seeds[mine].sum())
        uneven = int(np.count_nonzero(tests.correlation[mine] > BETWEEN_TESTS_RHO))
        found.append(Finding("viability-rests-on-tests", {"tests": mine.size, "seeds": seeds}))
        if uneven:
            found.append(Finding("viability-tests-uneven", {"tests": uneven}))
    elif not wrong:
        found.append(Finding("viability-never-tested", {"reckoned": not fleeting}))
    if wrong:
        found.append(Finding("viability-tests-wrong", {"tests": wrong}))
    found += _came_up(seen, lot)
    if seen.collection.bought[lot] and not fleeting:
        found.append(Finding("viability-bought"))
    return found


def recalled(seen: Forecast, lot: int = 0) -> list[Finding]:
    """How much of what is known of its keeping was recalled, where any was."""
    share = seen.recalled_share(lot)
    if share == 0.0 or not seen.reckoned(lot):
        return []
    return [Finding("viability-recalled", {"recalled_share": share})]


def warnings(seen: Forecast, lot: int = 0) -> list[Finding]:
    """Where the viability equation may not hold."""
    if seen.planting_stock[lot]:
        return []
    keeping = seen.keeping_of(lot)
    if seen.facts_of(lot).cannot_be_stored:
        years = (seen.today - float(seen.ages.harvest_day[lot])) / DAYS_PER_YEAR
        outlived = [Finding("viability-outlived", {"age_years": years})]
        return [Finding("viability-not-reckoned"), *(outlived if years > OUTLIVED_YEARS else ())]
    found = [] if keeping.applies else [Finding("viability-kind-unpublished")]
    moisture, temp = daily_conditions(keeping.isotherm, _present_place(seen, lot))
    found += [
        Finding("viability-out-of-range", {"store": code})
        for code in check_range(moisture, temp).codes
    ]
    return found


def to_narrow(seen: Forecast, lot: int = 0) -> list[Finding]:
    """What to record to know better, the most telling first."""
    lots, age_known = seen.collection, bool(seen.ages.known[lot])
    if seen.planting_stock[lot]:
        unknown = np.isnan(seen.stock_keeps_years(lot)) and not seen.collection.mixture[lot]
        return [Finding("record-stock-keeping")] if unknown else []
    if seen.facts_of(lot).cannot_be_stored:
        return [] if age_known else [Finding("record-fleeting-harvest-year")]
    little = lots.counted[lot] and lots.balance[lot] < FEWEST_SEEDS
    asked = {
        "record-test": not seen.observations.number[lot] and not little,
        "record-harvest-year": not age_known,
        "record-harvest-proof": age_known and lots.harvest_estimated[lot],
        "record-place": not np.any(lots.stays.lot == lot),
        "record-place-climate": np.any(lots.stays.lot == lot) and not seen.store_known[lot],
        "record-keeping": seen.keeping_of(lot).evidence_rows == 0,
    }
    return [Finding(code) for code, wanted in asked.items() if wanted]


def _came_up(seen: Forecast, lot: int) -> list[Finding]:
    """What sowings of the lot that are known tell."""
    of_lot = seen.collection.lot_id[lot]
    mine = [one.record for one in seen.garden.sown.sowings if one.lot_id == of_lot]
    if not mine:
        return []
    trials, emerged = sum(one.trials for one in mine), sum(one.emerged for one in mine)
    numbers = {"sowings": len(mine), "seeds": trials, "emerged": emerged}
    return [Finding("viability-came-up", numbers)]


def _how_long(seen: Forecast, lot: int) -> Finding:
    keeping, facts = seen.keeping_of(lot), seen.facts_of(lot)
    own = round(100 * keeping.estimate.own_share)
    return Finding(
        "viability-keeps-for",
        {
            "kind": facts.name,
            "years": float(np.exp(keeping.estimate.log_sigma)) / DAYS_PER_YEAR,
            "evidence": keeping.evidence_rows,
            "own_share_pct": own,
            "other_kinds_share_pct": 100 - own,
        },
    )


def _present_place(seen: Forecast, lot: int) -> YearlyConditions:
    stays = seen.collection.stays
    mine = np.flatnonzero((stays.lot == lot) & (stays.day <= seen.today))
    return seen.conditions[int(stays.place_id[mine[-1]]) if mine.size else NOWHERE]


CURVE_YEARS_AHEAD = 10.0
_HALF_YEAR = DAYS_PER_YEAR / 2
_CROSSED = (INTERVAL_ENDS[0], 0.5, INTERVAL_ENDS[1])
# Lots looked at again and again, and their pictures.
_OF_LOTS: CacheRegion[ViabilityAnswer] = CacheRegion(200)

EQUATION_SOURCES = (
    Source(
        text="viability equation: Ellis & Roberts 1980, Annals of Botany 45:13-30 and 31-37",
        confidence="memory",
    ),
    Source(
        text="moisture in balance with air: Cromarty, Ellis & Roberts 1982, IBPGR, Rome",
        confidence="memory",
    ),
    Source(
        text="prior spreads, and 0.01 correlation between tests: our choice", confidence="computed"
    ),
)
PRINTED_SOURCE = Source(
    text="germination printed on a packet: a seller's test of 300 seeds, 0.10 probit too good, all "
    "our choice",
    confidence="own",
)
PELLETED_SOURCE = Source(
    text="pelleted and primed seed keeps half as long as bare seed: common practice, no single "
    "source",
    confidence="memory",
)


def show_viability(
    session: Session,
    code: str,
    *,
    today: date,
    on: date | None = None,
    thresholds_pct: Sequence[float] = (),
) -> ViabilityAnswer:
    """How alive a lot is on a day, by default today. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    return _OF_LOTS.get(
        session,
        changes(session, ALIVE),
        lambda: _worked_out(session, lot, today, on, thresholds_pct),
        asked=(lot.id, today, on, tuple(thresholds_pct)),
    )


def _worked_out(
    session: Session,
    lot: Lot,
    today: date,
    on: date | None,
    thresholds_pct: Sequence[float],
) -> ViabilityAnswer:
    entry = lot_entry(session, lot)
    seen = forecast(
        session, today=today, lot_ids=[row_id(lot.id)], ahead_years=CURVE_YEARS_AHEAD / 2
    )
    asked = on or today
    stock = bool(seen.planting_stock[0])
    came = _date(float(seen.ages.harvest_day[0]))
    cautions = lot_cautions(lot, seen.facts_of(0))
    contradiction = contradicting_tests(seen, lambda one: points(one, [asked])[0])
    again = [Finding("record-test-again", {"seeds": MORE_SEEDS})] if contradiction else []
    return ViabilityAnswer(
        lot=lot.code,
        variety=variety_brief(entry),
        purity=lot.purity,
        purity_note=lot.purity_note,
        now=_without_figures(seen, 0, asked) if stock else points(seen, [asked])[0],
        at_harvest=_without_figures(seen, 0, came) if stock else points(seen, [came])[0],
        mixture=show_mixture(session, lot, today=today, on=asked),
        curve=[] if stock else points(seen, _curve_days(seen, today)),
        thresholds=[] if stock else _thresholds(seen, asked, thresholds_pct),
        tests=[] if stock else _tests(seen),
        contradiction=contradiction,
        retest=retest_answer(seen),
        age_years=round(_age_years(seen, day_number(asked)), 2),
        dose=0.0 if stock else round(_dose(seen, asked), 3),
        recalled_share=seen.recalled_share(0),
        reasons=finding_answers(
            [*reasons(seen), *hidden_circumstances(session, seen), *what_taught(session, seen)]
        ),
        warnings=finding_answers(warnings(seen)),
        to_narrow=finding_answers([*again, *to_narrow(seen)]),
        cautions=cautions,
        sources=distinct([*_sources(seen), *(caution.source for caution in cautions)]),
    )


def show_mixture(session: Session, lot: Lot, *, today: date, on: date) -> MixtureAlive | None:
    """How alive the parts of a mixture are, each as its lot; None for a lot that is none.

    Together they are told from all at their low ends to all at their high ones: the widest it
    can be. Of what isn't known, neither its share nor its life, anything may be alive.
    """
    parts = parts_of(session, [row_id(lot.id)]).get(row_id(lot.id))
    if parts is None:
        return None
    numbers = [row_id(one.lot.id) for one in parts if one.lot is not None]
    alive: dict[int, ViabilityPoint] = {}
    if numbers:
        seen = forecast(session, today=today, lot_ids=numbers, ahead_years=CURVE_YEARS_AHEAD / 2)
        for at, number in enumerate(seen.collection.lot_id.tolist()):
            stock = seen.planting_stock[at]
            alive[number] = _without_figures(seen, at, on) if stock else points(seen, [on], at)[0]
    told = [
        MixturePartAlive(
            lot=one.lot.code if one.lot else None,
            name=one.part.name,
            share=one.part.share,
            viability=alive.get(one.part.part_id or 0),
        )
        for one in parts
    ]
    low, known = 0.0, 0.0
    dead = 0.0
    for part in told:
        point = part.viability
        if part.share is None or point is None or not point.reckoned:
            continue
        assert point.low_90_pct is not None
        assert point.high_90_pct is not None
        known += part.share
        low += part.share * point.low_90_pct
        dead += part.share * (100.0 - point.high_90_pct)
    return MixtureAlive(
        parts=told,
        low_90_pct=round(low, 2),
        high_90_pct=round(100.0 - dead, 2),
        known_share=round(min(known, 1.0), 4),
    )


def _age_years(seen: Forecast, day: float) -> float:
    if seen.planting_stock[0]:
        return seen.stock_age_years(0) + (day - seen.today) / DAYS_PER_YEAR
    return (day - float(seen.ages.harvest_day[0])) / DAYS_PER_YEAR


def _dose(seen: Forecast, day: date) -> float:
    """The lot's storage dose, if kept as believed."""
    return float(seen.history.dose_at(np.array([0]), np.array([day_number(day)]))[0])


def _sources(seen: Forecast) -> list[Source]:
    """Where the forecast's figures are from."""
    facts = seen.facts_of(0)
    if seen.collection.mixture[0]:
        return []
    if seen.planting_stock[0]:
        said = sources_of(facts.kept_as, facts.planting_stock_years)
        return [Source(text=s.text, confidence=s.confidence) for s in said]
    used = sources_of(
        facts.minimum_germination_pct, facts.oil_content_pct, facts.moisture_equilibrium
    )
    cited = [
        Source(text=s.text, confidence=s.confidence) for s in (*seen.keeping_of(0).sources, *used)
    ]
    printed = [PRINTED_SOURCE] if seen.printed[0] else []
    pelleted = [PELLETED_SOURCE] if short_lived(seen.collection)[0] else []
    return [*EQUATION_SOURCES, *printed, *pelleted, *cited]


def points(seen: Forecast, days: Sequence[date], position: int = 0) -> list[SeedViabilityPoint]:
    """The band of one lot of seed on several days: fitted once a day, all in one go."""
    same = np.full(len(days), position)
    dose = seen.storage.doses_at(same, np.array([day_number(day) for day in days]))
    band = refit(seen, position, dose).band(dose)
    reckoned = seen.reckoned(position)
    return [_point_of(band, day, at, reckoned=reckoned) for at, day in enumerate(days)]


def point_of(seen: Forecast, band: Band, day: date, position: int) -> ViabilityPoint:
    """One lot's entry of a band over all lots, in per cent; planting stock has none."""
    if seen.planting_stock[position]:
        return _without_figures(seen, position, day)
    return _point_of(band, day, position, reckoned=seen.reckoned(position))


def _without_figures(seen: Forecast, position: int, day: date) -> ViabilityPoint:
    """What is told of planting stock, and of mixtures."""
    return ViabilityPoint(
        on=day,
        median_pct=None,
        low_50_pct=None,
        high_50_pct=None,
        low_90_pct=None,
        high_90_pct=None,
        reckoned=False,
        planting_stock=not seen.collection.mixture[position],
    )


def _point_of(band: Band, day: date, position: int, *, reckoned: bool) -> SeedViabilityPoint:
    """``reckoned`` is false where no equation applies."""

    def pct(column: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
        return round(100.0 * float(column[position]), 2)

    return SeedViabilityPoint(
        on=day,
        median_pct=pct(band.median),
        low_50_pct=pct(band.low_50),
        high_50_pct=pct(band.high_50),
        low_90_pct=pct(band.low_90),
        high_90_pct=pct(band.high_90),
        reckoned=reckoned,
    )


def _date(day: float) -> date:
    found = day_date(day)
    assert found is not None
    return found


def _curve_days(seen: Forecast, today: date) -> list[date]:
    """Every half year from harvest to ten years ahead, today among them."""
    start, now = float(seen.ages.harvest_day[0]), day_number(today)
    back = np.arange(now, start, -_HALF_YEAR)
    ahead = np.arange(now + _HALF_YEAR, now + CURVE_YEARS_AHEAD * DAYS_PER_YEAR + 1, _HALF_YEAR)
    # A harvest day may lie a fraction of a day before one of the steps.
    return sorted({_date(day) for day in (start, *back.tolist(), *ahead.tolist())})


def _thresholds(
    seen: Forecast, asked: date, thresholds_pct: Sequence[float]
) -> list[ThresholdAnswer]:
    """The legal minimum, 85 % of initial, and whatever else was asked about."""
    minimum = seen.facts_of(0).minimum_germination_pct
    wanted = [(Finding("threshold-legal-minimum"), minimum.value)] if minimum else []
    initial = float(seen.posterior.quantile((0.5,), np.zeros(1))[0, 0])
    regeneration_pct = 100.0 * float(regeneration_viability(np.array([initial]))[0])
    wanted.append((Finding("threshold-regeneration"), regeneration_pct))
    wanted += [(Finding("threshold-asked", {"pct": pct}), pct) for pct in thresholds_pct]
    dose = seen.dose_on(day_number(asked))
    answers = []
    for finding, pct in wanted:
        days = crossing_days(seen, np.arange(1), seen.posterior, pct / 100.0, _CROSSED)
        early, middle, late = (day_date(day) for day in days[0].tolist())
        answers.append(
            ThresholdAnswer.of(
                finding,
                name=text_of(finding),
                threshold_pct=round(pct, 2),
                probability_at_least=round(
                    float(seen.posterior.probability_at_least(pct / 100.0, dose)[0]), 4
                ),
                crossed_by_5_in_100=early,
                crossed_by_median=middle,
                crossed_by_95_in_100=late,
            )
        )
    return answers


def _tests(seen: Forecast) -> list[TestSeen]:
    tests = seen.collection.tests
    seeds, viable = tests.seeds.astype(int).tolist(), tests.viable.astype(int).tolist()
    worth = discount_counts(tests.viable, tests.seeds, tests.correlation).seeds.tolist()
    return [
        TestSeen(
            started_on=_date(day),
            viable_seeds=good,
            judged_seeds=whole,
            viability=PercentAnswer.of(good / whole, proportion_interval(good, whole)),
            worth_seeds=round(size, 1),
            went_wrong=wrong,
        )
        for day, good, whole, size, wrong in zip(
            tests.day.tolist(), viable, seeds, worth, tests.faulty.tolist(), strict=True
        )
    ]
