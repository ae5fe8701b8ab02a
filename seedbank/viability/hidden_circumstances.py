"""What is told of what nobody saw of a lot: how old it may be, how alive if its jar is open."""

from typing import Final

import numpy as np
from sqlmodel import Session

from seedbank.lots.tables.places import Place
from seedbank.science.quantities import INTERVAL_ENDS, Finding
from seedbank.science.viability.circumstances import RESEALED
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.posterior import fit_posterior
from seedbank.viability.forecast_viability import Forecast

_LIKELY: Final = 0.05  # an age less likely isn't named
_WORTH_TELLING: Final = 0.03  # of what is alive at either end of the band; our choice


def hidden_circumstances(session: Session, seen: Forecast, lot: int = 0) -> list[Finding]:
    """How old a lot may be where nobody knows, and its band if a sealed place does not close."""
    if not seen.reckoned(lot):
        return []
    return [*_ages(seen, lot), *_if_open(session, seen, lot)]


def _ages(seen: Forecast, lot: int) -> list[Finding]:
    day, weight = seen.ages.possible.day[lot], seen.ages.possible.weight[lot]
    likely = day[weight >= _LIKELY]
    if likely.size < 2 or np.ptp(likely) < DAYS_PER_YEAR:
        return []
    youngest, oldest = (seen.today - likely.max(), seen.today - likely.min())
    told = {"low_years": youngest / DAYS_PER_YEAR, "high_years": oldest / DAYS_PER_YEAR}
    return [Finding("viability-age-doubted", told)]


def _if_open(session: Session, seen: Forecast, lot: int) -> list[Finding]:
    one = np.array([lot])
    dose = seen.dose_on(seen.today)[one]
    tests, priors = seen.observations.take(one), seen.priors.take(one)
    believed = fit_posterior(priors, tests).quantile(INTERVAL_ENDS, dose)[0]
    chance = seen.garden.places.chance(seen.storage.place[one], np.zeros((1, 1)))[0]
    found = []
    sealings = seen.storage.place[lot]
    for at, number in enumerate((sealings % RESEALED).tolist()):
        weight = tests.weight * seen.storage.is_open[one, : tests.cases, at]
        place = session.get(Place, number) if weight.any() else None
        if place is None:
            continue
        low, high = fit_posterior(priors, tests.weighed(weight)).quantile(INTERVAL_ENDS, dose)[0]
        if np.max(np.abs(believed - [low, high])) >= _WORTH_TELLING:
            same = sealings[sealings % RESEALED == number]
            when = "since" if sealings[at] == same.max() else "before"
            told: dict[str, float | str] = {"place": place.name, "chance": float(chance[at])}
            told["when"] = when if same.max() > RESEALED else "ever"
            told |= {"low_pct": 100.0 * float(low), "high_pct": 100.0 * float(high)}
            found.append(Finding("viability-if-open", told))
    return found
