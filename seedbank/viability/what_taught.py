"""What its packet and other lots' tests have changed in the belief of one lot."""

from typing import Final

import numpy as np
from sqlmodel import Session

from seedbank.lots.tables.places import Place
from seedbank.science.quantities import INTERVAL_ENDS, Finding
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.packet_evidence import is_floor
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.viability.forecast_viability import Forecast
from seedbank.viability.garden_keeping import KIND, PLACE

_WORTH_TELLING: Final = 0.1  # of log keeping: a tenth longer or shorter; our choice
_MOST_TOLD: Final = 2


def what_taught(session: Session, seen: Forecast, lot: int = 0) -> list[Finding]:
    """How the answer would stand without what is printed on its packet, and without other tests."""
    if not seen.reckoned(lot):
        return []
    told, one = [], np.array([lot])
    if seen.printed[lot]:
        told.append(_printed(seen, lot))
    sound = seen.collection.tests.sound
    mine = (sound.lot == lot) & (sound.seeds > 0)
    tests = seen.garden.tests - int(np.count_nonzero(mine))
    if tests == 0:
        return told
    storage, own = seen.storage.take(one).as_others_are_unknown(), seen.observations.take(one)
    own = own.weighed(storage.weight[:, : own.cases])
    low, high = _ends(seen, lot, seen.alone.take(one), own)
    told.append(Finding("viability-taught", {"tests": tests, "low_pct": low, "high_pct": high}))
    return [*told, *_shared(session, seen, lot)]


def _printed(seen: Forecast, lot: int) -> Finding:
    """What is printed on its packet, and the band without it."""
    packets, one = seen.collection.packets, np.array([lot])
    at = int(np.flatnonzero(packets.lot == lot)[0])
    sown = seen.garden.sown.evidence(seen).take(one)
    others = seen.all_tests_of(seen.garden.rho, one).and_those(sown)
    low, high = _ends(seen, lot, seen.priors.take(one), others)
    printed_pct = float(packets.printed_pct[at])
    minimum = seen.facts_of(lot).minimum_germination_pct
    floor = minimum is not None and is_floor(printed_pct, minimum.value)
    told = {"printed_pct": printed_pct, "floor": floor, "low_pct": low, "high_pct": high}
    return Finding("viability-printed", told)


def _ends(seen: Forecast, lot: int, prior: Priors, evidence: Observations) -> tuple[float, float]:
    """Ends of the 90 % band of a lot today, in per cent, as it would stand by these."""
    dose = seen.dose_on(seen.today)[np.array([lot])]
    low, high = 100.0 * fit_posterior(prior, evidence).quantile(INTERVAL_ENDS, dose)[0]
    return float(low), float(high)


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
