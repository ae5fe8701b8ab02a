"""How alive one lot is today, through its past and in years to come; what that rests on."""

from collections.abc import Sequence
from datetime import date

import numpy as np
from sqlmodel import Session

from seedbank.common.answers import PercentAnswer, Source, ViabilityPoint, distinct
from seedbank.database.cache import Kept
from seedbank.database.find import row_id
from seedbank.facts.sources import sources_of
from seedbank.lots.show_lots import lot_cautions, lot_entry, variety_brief
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.quantities import INTERVAL_ENDS, Band
from seedbank.science.verdicts.regeneration import regeneration_viability
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    OUTLIVED_YEARS,
    YearlyConditions,
    check_range,
    daily_conditions,
)
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO, discount_counts
from seedbank.viability.answers import TestSeen, ThresholdAnswer, ViabilityAnswer
from seedbank.viability.forecast_viability import NOWHERE, Forecast, forecast, refit
from seedbank.viability.retest_day import FEWEST_SEEDS, retest_answer
from seedbank.viability.tables.change_stamps import alive_stamp
from seedbank.viability.tables.stock_columns import day_date, day_number

_OUT_OF_RANGE = {
    "too-moist": "its seed is moister than 25 %, beyond the range the viability equation was "
    "fitted to",
    "mould-and-heating": "its seed lies over 14 % moisture at some time of the year, where mould "
    "and heating kill faster than is reckoned here",
    "too-dry": "its seed is drier than 2 %, beyond the range the viability equation was fitted to",
    "colder-than-fitted": "it is colder than -13 °C, where the temperature constants were not "
    "fitted",
}


def reasons(seen: Forecast, lot: int = 0) -> list[str]:
    """What the answer rests on."""
    tests = seen.collection.tests
    mine = np.flatnonzero(tests.lot == lot)
    fleeting = seen.facts_of(lot).cannot_be_stored
    said = [] if fleeting else [_how_long(seen, lot)]
    if mine.size:
        seeds = int(tests.seeds[mine].sum())
        uneven = int(np.count_nonzero(tests.correlation[mine] > BETWEEN_TESTS_RHO))
        said.append(f"It rests on {_many(mine.size, 'finished test')} of {seeds} seeds in all.")
        if uneven:
            said.append(
                f"In {_many(uneven, 'test')} the replicates disagreed, so their seeds count for "
                "less."
            )
    elif fleeting:
        said.append("It was never tested.")
    else:
        said.append("It was never tested: the answer rests on its kind, source, age and store.")
    if seen.collection.bought[lot] and not fleeting:
        said.append(
            "It was bought, so it is taken to have been near or above the least that may be sold."
        )
    return said


def warnings(seen: Forecast, lot: int = 0) -> list[str]:
    """Where the viability equation may not hold."""
    facts, keeping = seen.facts_of(lot), seen.keeping_of(lot)
    said = []
    if facts.cannot_be_stored:
        return [
            "This kind's seed doesn't keep: sow it fresh or hand it on. How much of it is alive "
            "can't be reckoned; only seed just tested or sprouting is sure.",
            *_outlived(seen, lot),
        ]
    if not keeping.applies:
        said.append(
            "Nothing is published here on how this kind keeps: it is taken for an ordinary "
            "vegetable, with a wide band."
        )
    moisture, temp = daily_conditions(keeping.isotherm, _present_place(seen, lot))
    for code in check_range(moisture, temp).codes:
        said.append(f"Where it is kept {_OUT_OF_RANGE[code]}.")
    return said


def _outlived(seen: Forecast, lot: int) -> list[str]:
    years = (seen.today - float(seen.ages.harvest_day[lot])) / DAYS_PER_YEAR
    if years <= OUTLIVED_YEARS:
        return []
    return [f"After {years:.1f} years it is taken for dead: get fresh seed."]


def to_narrow(seen: Forecast, lot: int = 0) -> list[str]:
    """What to record to know better, the most telling first."""
    lots = seen.collection
    said = []
    if seen.facts_of(lot).cannot_be_stored:
        return (
            [] if seen.ages.known[lot] else ["Record the harvest year: such seed lasts a season."]
        )
    if not np.any(lots.tests.lot == lot) and not (
        lots.counted[lot] and lots.balance[lot] < FEWEST_SEEDS
    ):
        said.append("Record a germination test: even 20 seeds tell more than any table.")
    if not seen.ages.known[lot]:
        said.append("Record the harvest year, if only estimated: its age is a guess.")
    elif lots.harvest_estimated[lot]:
        said.append("The harvest year is an estimate; any proof of age narrows this.")
    if not np.any(lots.stays.lot == lot):
        said.append("Record where it is kept: an ordinary indoor store is assumed.")
    elif not seen.store_known[lot]:
        said.append(
            "Record the temperature and humidity of the place it is kept: usual values stand in."
        )
    if seen.keeping_of(lot).evidence_rows == 0:
        said.append("Say how long seed of this kind keeps for you, if you know.")
    return said


def _how_long(seen: Forecast, lot: int) -> str:
    keeping, facts = seen.keeping_of(lot), seen.facts_of(lot)
    years = np.exp(keeping.estimate.log_sigma) / DAYS_PER_YEAR
    own = round(100 * keeping.estimate.own_share)
    rests = (
        f"{_many(keeping.evidence_rows, 'sort')} of published evidence on it, weighed {own} to "
        f"{100 - own} against what other kinds do"
        if keeping.evidence_rows
        else "as other kinds do: nothing is published on it here"
    )
    return (
        f"In an ordinary store {facts.name} takes about {years:.1f} years to fall from 84 to 50 % "
        f"alive ({rests})."
    )


def _present_place(seen: Forecast, lot: int) -> YearlyConditions:
    stays = seen.collection.stays
    mine = np.flatnonzero((stays.lot == lot) & (stays.day <= seen.today))
    return seen.conditions[int(stays.place_id[mine[-1]]) if mine.size else NOWHERE]


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}" + ("s" if count != 1 else "")


CURVE_YEARS_AHEAD = 10.0
_HALF_YEAR = DAYS_PER_YEAR / 2
_CROSSED = (INTERVAL_ENDS[0], 0.5, INTERVAL_ENDS[1])
_KEPT: Kept[ViabilityAnswer] = Kept(200)  # lots looked at again and again, and their pictures

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
    return _KEPT.get(
        session,
        alive_stamp,
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
    cautions = lot_cautions(lot, seen.facts_of(0))
    return ViabilityAnswer(
        lot=lot.code,
        variety=variety_brief(entry),
        purity=lot.purity,
        purity_note=lot.purity_note,
        now=points(seen, [asked])[0],
        at_harvest=points(seen, [_date(seen.ages.harvest_day[0])])[0],
        curve=points(seen, _curve_days(seen, today)),
        thresholds=_thresholds(seen, asked, thresholds_pct),
        tests=_tests(seen),
        retest=retest_answer(seen),
        age_years=round((day_number(asked) - float(seen.ages.harvest_day[0])) / DAYS_PER_YEAR, 2),
        dose=round(float(seen.dose_on(day_number(asked))[0]), 3),
        reasons=reasons(seen),
        warnings=warnings(seen),
        to_narrow=to_narrow(seen),
        cautions=cautions,
        sources=distinct([*_sources(seen), *(caution.source for caution in cautions)]),
    )


def _sources(seen: Forecast) -> list[Source]:
    """Where the forecast's figures are from."""
    facts = seen.facts_of(0)
    used = sources_of(
        facts.minimum_germination_pct, facts.oil_content_pct, facts.moisture_equilibrium
    )
    cited = [
        Source(text=s.text, confidence=s.confidence) for s in (*seen.keeping_of(0).sources, *used)
    ]
    return [*EQUATION_SOURCES, *cited]


def points(seen: Forecast, days: Sequence[date], position: int = 0) -> list[ViabilityPoint]:
    """The band of one lot on several days: the lot fitted once a day, all in one go."""
    same = np.full(len(days), position)
    dose = seen.history.dose_at(same, np.array([day_number(day) for day in days]))
    band = refit(seen, position, dose).band(dose)
    reckoned = not seen.facts_of(position).cannot_be_stored
    return [point_of(band, day, at, reckoned=reckoned) for at, day in enumerate(days)]


def point_of(band: Band, day: date, position: int, *, reckoned: bool) -> ViabilityPoint:
    """One lot's entry of a band, in per cent; ``reckoned`` is false where no equation applies."""

    def pct(column: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
        return round(100.0 * float(column[position]), 2)

    return ViabilityPoint(
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
    wanted = {"legal minimum": minimum.value} if minimum else {}
    initial = float(seen.posterior.quantile((0.5,), np.zeros(1))[0, 0])
    wanted["85 % of initial"] = 100.0 * float(regeneration_viability(np.array([initial]))[0])
    wanted |= {f"{pct:g} % as asked": pct for pct in thresholds_pct}
    dose = seen.dose_on(day_number(asked))
    answers = []
    for name, pct in wanted.items():
        crossed = seen.posterior.crossing_dose(pct / 100.0, _CROSSED)[0]
        days = [float(seen.history.day_of_dose(np.array([one]))[0]) for one in crossed.tolist()]
        early, middle, late = (day_date(day) for day in days)
        answers.append(
            ThresholdAnswer(
                name=name,
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
        )
        for day, good, whole, size in zip(tests.day.tolist(), viable, seeds, worth, strict=True)
    ]
