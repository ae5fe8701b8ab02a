"""What a viability forecast rests on and where it is weak, in plain words."""

import numpy as np

from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    OUTLIVED_YEARS,
    YearlyConditions,
    check_range,
    daily_conditions,
)
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO
from seedbank.viability.forecast_viability import NOWHERE, Forecast
from seedbank.viability.retest_day import FEWEST_SEEDS

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
