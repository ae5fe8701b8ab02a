"""No advice takes long or much memory, whatever is in stock and whatever is wanted.

The corners: the largest stock and want that the forms take, seed nearly dead, every method, single
seeds and clusters of as many seedlings as may be stated, rare and common varieties.
"""

from dataclasses import dataclass
from typing import Any

import pytest

from seedbank.common.forms import MOST
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.kinds.edit_kinds import state_fact
from seedbank.kinds.forms import FactStated
from seedbank.kinds.tables import FactName
from seedbank.plan.plan_supply import plan_supplies
from seedbank.saving.show_lines import show_seed_parents
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.advise_variety import advise_variety
from seedbank.sowing.forms import SowingAsk, SowingFinish
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.sowing.record_sowing import finish_sowing
from seedbank.sowing.show_sowings import foretell_sowing
from seedbank.verdicts.list_verdicts import list_seed_to_save
from tests.use_cases.conftest import Garden
from tests.use_cases.sowing.bounds import bounded
from tests.use_cases.sowing.test_record_sowing import emerge, lose, sow

METHODS = ("row", "station", "module", "broadcast")


@dataclass(frozen=True)
class Hoard:
    """A variety and three lots of it, each with as much seed as one movement takes."""

    variety: int
    lots: tuple[str, ...]


def a_hoard(garden: Garden, kind: str, alive: int, seeds: int = MOST, **variety: Any) -> Hoard:
    """Lots of which ``alive`` of 50 seeds in a late test were living."""
    number = garden.variety(kind, plants_wanted=MOST, reserve_seeds=seeds // 2, **variety)
    years = (2024, 2025, 2026)
    lots = [garden.lot(seeds, kind=kind, variety_id=number, harvest_year=year) for year in years]
    for lot in lots:
        body = {
            "lot": lot.code,
            "substratum": "paper-towel",
            "started_on": "2027-02-10",
            "finished_on": "2027-02-24",
            "replicates": [{"seeds_set": 50, "normal": alive, "dead": 50 - alive}],
        }
        record_test(garden.session, TestRecord.model_validate(body), **garden.when)
    return Hoard(number, tuple(lot.code for lot in lots))


def asks(kind: str) -> list[SowingAsk]:
    """Every method, with some plants wanted and with those of the variety (the most there are)."""
    soil = 8.0 if kind == "beet" else 6.0
    always = {"confidence": 0.99, "sow_on": "2027-05-10", "soil_temp_c": soil, "use_reserve": True}
    room = {"station": {"stations": 1_000_000}, "module": {"cells": 1_000_000}}
    some = [{"method": method, "plants": 500, "spacing_cm": 0.5} for method in METHODS]
    most = [{"method": method, **room.get(method, {})} for method in METHODS]
    return [SowingAsk.model_validate({**always, **one}) for one in (*some, *most)]


@pytest.mark.parametrize(
    ("kind", "several", "alive", "keepers"),
    [("beet", None, 30, "many"), ("beet", "20", 46, "none"), ("carrot", None, 1, "none")],
)
def test_the_corners_of_the_advice_forms_stay_within_bounds(
    garden: Garden, kind: str, several: str | None, alive: int, keepers: str
) -> None:
    hoard = a_hoard(garden, kind, alive, other_keepers=keepers)
    if several:
        form = FactStated(value=several, source="invented")
        state_fact(garden.session, kind, FactName.SEEDLINGS_PER_UNIT, form, expected=None)
    today = garden.today
    with bounded() as bound:
        for ask in asks(kind):
            bound(lambda ask=ask: advise_lot(garden.session, hoard.lots[0], ask, today=today))
            if alive > 15:  # of a variety, lots nearly dead are refused
                bound(
                    lambda ask=ask: advise_variety(garden.session, hoard.variety, ask, today=today)
                )


def test_what_else_counts_plants_stays_within_bounds(garden: Garden) -> None:
    hoard, today = a_hoard(garden, "beet", 30, other_keepers="none"), garden.today
    session, lot = garden.session, hoard.lots[0]
    open_one = sow(garden, lot, MOST // 4, method="broadcast", plants_wanted=MOST).id
    known = sow(garden, lot, MOST // 4, method="row", plants_wanted=MOST // 20).id
    lose(garden, known, 1_000)
    emerge(garden, known, "2027-02-20", MOST // 10)
    finish_sowing(session, known, SowingFinish(), today=today)
    with bounded() as bound:
        bound(lambda: learn_garden(session, today=today))
        bound(lambda: judge_forecasts(session, today=today))
        for number in (open_one, known):
            bound(lambda number=number: foretell_sowing(session, number, today=today))
        for confidence in (0.5, 0.99):
            bound(
                lambda sure=confidence: show_seed_parents(
                    session, lot, purpose=Purpose.RARE, today=today, parents=10_000, confidence=sure
                )
            )
        bound(lambda: list_seed_to_save(session, today=today))
        bound(lambda: plan_supplies(session, today=today))


@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_thirty_thousand_clusters_are_advised_on_as_fast_as_three_hundred(
    garden: Garden, confidence: float
) -> None:
    body = {"plants": 500, "method": "row", "soil_temp_c": 10.0, "spacing_cm": 5.0}
    ask = SowingAsk.model_validate({**body, "confidence": confidence})
    code = garden.lot(30_000, kind="beet").code
    with bounded() as bound:
        bound(lambda: advise_lot(garden.session, code, ask, today=garden.today))
