"""What other lots' tests have changed in the belief of one lot, and what it shares with them."""

from typing import Final

import numpy as np
from sqlmodel import Session

from seedbank.lots.tables.places import Place
from seedbank.science.quantities import INTERVAL_ENDS, Finding
from seedbank.science.viability.posterior import fit_posterior
from seedbank.viability.forecast_viability import Forecast
from seedbank.viability.garden_keeping import KIND, PLACE

_WORTH_TELLING: Final = 0.1  # of log keeping: a tenth longer or shorter; our choice
_MOST_TOLD: Final = 2


def what_taught(session: Session, seen: Forecast, lot: int = 0) -> list[Finding]:
    """How the answer would stand without the other lots' tests, and what they share with it."""
    garden = seen.garden
    tests = int(garden.tests - seen.observations.number[lot])
    if not seen.reckoned(lot) or tests == 0:
        return []
    one = np.array([lot])
    alone = fit_posterior(seen.alone.take(one), seen.observations.take(one))
    low, high = 100.0 * alone.quantile(INTERVAL_ENDS, seen.dose_on(seen.today)[one])[0]
    told = [Finding("viability-taught", {"tests": tests, "low_pct": low, "high_pct": high})]
    return [*told, *_shared(session, seen, lot)]


def _shared(session: Session, seen: Forecast, lot: int) -> list[Finding]:
    """The shared effects that moved the lot's keeping most, each with its factor."""
    garden = seen.garden
    row = int(np.searchsorted(garden.lot_id, seen.collection.lot_id[lot]))
    effect, share = garden.effects.effect[row], garden.effects.share[row]
    moved = share * garden.learned.mean[effect]
    found = []
    for at in np.argsort(-np.abs(moved), kind="stable")[:_MOST_TOLD].tolist():
        if abs(moved[at]) < _WORTH_TELLING:
            break
        sort, whose = garden.names[int(effect[at])]
        name = ""
        if sort == PLACE:
            place = session.get(Place, whose)
            name = "" if place is None else place.name
        elif sort == KIND:
            name = seen.facts_of(lot).name
        factor = float(np.exp(moved[at]))
        found.append(Finding("viability-shared", {"of": sort, "name": name, "factor": factor}))
    return found
