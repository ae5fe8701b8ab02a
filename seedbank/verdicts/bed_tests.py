"""A short row or a tray as a test that gives plants too: less sure than a towel, never wasted."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from seedbank.climate.garden_year import GardenYear
from seedbank.climate.kind_season import sowing_state
from seedbank.emergence.tables import Protection, SowingMethod
from seedbank.facts.kinds import KindFacts
from seedbank.science.quantities import Finding
from seedbank.science.season.sowing_windows import Method
from seedbank.science.sowing.emergence import ShiftLaw, emergence_nodes, lot_viability
from seedbank.sowing.learn_from_sowings import learn_from
from seedbank.sowing.setting import usual_method
from seedbank.verdicts.answers import BedTestAnswer
from seedbank.viability.forecast_viability import Forecast, lot_nodes
from seedbank.viability.past_sowings import sowing_conditions


@dataclass(frozen=True, slots=True)
class BedTest:
    """Seed sown to be counted: how, what the bed costs it, and the share that comes up."""

    facts: KindFacts
    method: SowingMethod
    protection: Protection
    law: ShiftLaw
    share_up: float

    def error(self, towel: float) -> float:
        """Error of what came up, where a towel of as many seeds has this one: the bed's doubt comes
        on top, and a bed that failed tells nothing."""
        return (towel + self.law.sd**2) / (1.0 - self.law.failure)


def bed_test(forecast: Forecast, at: int, today: date) -> BedTest:
    """A row in the open of a kind that is sown where it stays, else a tray indoors."""
    facts = forecast.facts_of(at)
    tray = usual_method(facts) is SowingMethod.MODULE
    method = SowingMethod.MODULE if tray else SowingMethod.ROW
    protection = Protection.INDOORS if tray else Protection.OPEN
    conditions, _ = sowing_conditions(facts, method, protection, today, None)
    law = learn_from(forecast.garden.sown).shift_model.predict(conditions).law
    up = emergence_nodes(lot_viability(lot_nodes(forecast, at, forecast.today)), law)
    return BedTest(facts, method, protection, law, up.mean)


def bed_answer(
    bed: BedTest, year: GardenYear, seeds: int, share: float, today: date
) -> BedTestAnswer:
    """What it gives and tells, and when it may be sown in this garden."""
    tray = bed.method is SowingMethod.MODULE
    state = sowing_state(bed.facts, year, Method.INDOORS if tray else Method.OPEN, today)
    told = float(np.clip(share, 0.0, 1.0))
    plants = seeds * bed.share_up
    when = None if state is None else state.opens_on
    values = {
        "how": "tray" if tray else "row",
        "state": "unknown" if state is None else state.state.value,
        "seeds": seeds,
        "plants": plants,
        "share": told,
        "on": when,
    }
    return BedTestAnswer.of(
        Finding("bed-test", values),
        method=bed.method,
        protection=bed.protection,
        seeds=seeds,
        plants=round(plants, 1),
        told_share=round(told, 3),
        state=None if state is None else state.state,
        opens_on=when,
    )
