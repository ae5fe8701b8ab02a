"""What is to be expected of a sowing already made, told without what it showed itself."""

from datetime import date, timedelta

from sqlmodel import Session

from seedbank.database.find import row_id
from seedbank.facts.kind_facts import KindFacts
from seedbank.kinds.kind_facts import facts_for
from seedbank.kinds.tables.varieties import Variety
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.lots import Lot
from seedbank.science.sowing.emergence import emergence_nodes
from seedbank.science.sowing.plant_counts import plants_law
from seedbank.science.sowing.soil_warmth import SoilWarmth
from seedbank.sowing.answers.forecast_record import ForetoldAnswer
from seedbank.sowing.answers.sowing_forecasts import SowingForecastAnswer
from seedbank.sowing.history import sowing_conditions
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.sowing.sowable_lots import read_variety_stock
from seedbank.sowing.tables.emergence import Outcome, outcomes
from seedbank.sowing.tables.sowings import LossCause, Sowing, find_sowing


def foretell_sowing(session: Session, number: int, *, today: date) -> SowingForecastAnswer | None:
    """What was to come up of a sowing; None where nothing was left in the soil to come.

    Once its outcome is known it is foretold from the sowings of earlier years alone, as in the
    record of forecasts; until then from all that are known. Raises NotThere.
    """
    sowing = find_sowing(session, number)
    entry = lot_entry(session, session.get_one(Lot, sowing.lot_id))
    facts = facts_for(session, entry.kind)
    _, soil = sowing_conditions(
        facts, sowing.method, sowing.protection, sowing.sown_on, sowing.soil_temp_c
    )
    garden = learn_garden(session, today=today)
    if any(one.sowing_id == number for one in garden.sowings):
        items = judge_forecasts(session, today=today).items
        told = next((one for one in items if one.sowing == number), None)
        return None if told is None else _recorded(sowing, told, soil)
    return _open(session, sowing, entry.variety, facts, soil, today)


def _recorded(sowing: Sowing, told: ForetoldAnswer, soil: SoilWarmth) -> SowingForecastAnswer:
    return SowingForecastAnswer(
        seeds=told.seeds,
        expected=told.expected,
        low=told.low,
        high=told.high,
        first_on=_first_day(sowing, soil),
        basis="the tests of the lot and your sowings of earlier years",
    )


def _open(
    session: Session,
    sowing: Sowing,
    variety: Variety,
    facts: KindFacts,
    soil: SoilWarmth,
    today: date,
) -> SowingForecastAnswer | None:
    number = row_id(sowing.id)
    seeds = sowing.seeds_sown - _lost_in_soil(outcomes(session, [number])[number])
    if seeds < 1:
        return None
    garden = learn_garden(session, today=today)
    conditions, _ = sowing_conditions(
        facts, sowing.method, sowing.protection, sowing.sown_on, sowing.soil_temp_c
    )
    stock = read_variety_stock(session, variety, facts, sowing.sown_on, today=today)
    lot = next(one for one in stock.lots if one.lot.id == sowing.lot_id)
    shift = garden.shift_model.predict(conditions)
    nodes = emergence_nodes(lot.viability, shift.mean, shift.sd, ready=lot.ready.share.mean)
    told = plants_law(nodes, seeds, garden.patches[sowing.protection]).summary()
    return SowingForecastAnswer(
        seeds=seeds,
        expected=round(told.mean, 1),
        low=told.range.low,
        high=told.range.high,
        first_on=_first_day(sowing, soil),
        basis="the tests of the lot and your sowings so far",
    )


def _lost_in_soil(outcome: Outcome) -> int:
    return sum(
        loss.units_lost
        for loss in outcome.losses
        if not loss.after_emergence and loss.cause is not LossCause.NOT_EMERGED
    )


def _first_day(sowing: Sowing, soil: SoilWarmth) -> date | None:
    return None if soil.days is None else sowing.sown_on + timedelta(days=round(soil.days))
