"""Sowings as they are answered, and what was to be expected of them without what they showed."""

from collections.abc import Sequence
from datetime import date, timedelta

from sqlmodel import Session

from seedbank.common.answers import FindingAnswer, PercentAnswer, distinct
from seedbank.database.find import row_id
from seedbank.database.queries import Page, Paging
from seedbank.emergence.tables import (
    LossCause,
    Outcome,
    Sowing,
    SowingFilter,
    find_sowing,
    find_sowings,
    outcomes,
)
from seedbank.facts.kinds import KindFacts
from seedbank.germination.evaluate_tests import METHOD_SOURCES
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Variety
from seedbank.lots.show_lots import lot_cautions, lot_entries, lot_entry, variety_brief
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Lot
from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.quantities import Finding
from seedbank.science.sowing.emergence import emergence_nodes
from seedbank.science.sowing.plant_counts import plants_law
from seedbank.science.sowing.seedling_losses import lost_share
from seedbank.science.sowing.soil_warmth import SoilWarmth
from seedbank.sowing.answers import (
    EmergenceAnswer,
    LossAnswer,
    SowingAnswer,
    SowingForecastAnswer,
    SowingSummary,
)
from seedbank.sowing.forecast_answers import ForetoldAnswer
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.sowing.sowable_lots import read_variety_stock
from seedbank.viability.past_sowings import sowing_conditions


def show_sowing(session: Session, number: int) -> SowingAnswer:
    """One sowing with what came up. Raises NotThere."""
    return answer_sowing(session, find_sowing(session, number))


def list_sowings(session: Session, wanted: SowingFilter, paging: Paging) -> Page[SowingSummary]:
    """Sowings, earliest first. Raises MisreadCode, Refused: no such lot. BadValue: the cursor."""
    page = find_sowings(session, wanted, paging)
    return Page(_summaries(session, page.items), page.next)


def answer_sowing(
    session: Session, sowing: Sowing, *, warnings: Sequence[FindingAnswer] = ()
) -> SowingAnswer:
    """One sowing as it is answered."""
    entry = lot_entry(session, session.get_one(Lot, sowing.lot_id))
    outcome = outcomes(session, [row_id(sowing.id)])[row_id(sowing.id)]
    cautions = lot_cautions(entry.lot, facts_for(session, entry.kind))
    emerged = _emerged(sowing, outcome)
    sources = [METHOD_SOURCES[0]] if emerged else []
    return SowingAnswer(
        **_summary(sowing, entry, outcome).model_dump(),
        emergence=[EmergenceAnswer.model_validate(one) for one in outcome.emergences],
        losses=[LossAnswer.model_validate(one) for one in outcome.losses],
        emerged=emerged,
        warnings=list(warnings),
        cautions=cautions,
        sources=distinct([*sources, *(caution.source for caution in cautions)]),
    )


def _emerged(sowing: Sowing, outcome: Outcome) -> PercentAnswer | None:
    """Share come up of the seeds that had the chance: those not lost in the soil first."""
    if outcome.units_emerged is None:
        return None
    chances = sowing.seeds_sown - sum(
        loss.units_lost
        for loss in outcome.losses
        if not loss.after_emergence and loss.cause is not LossCause.NOT_EMERGED
    )
    if chances < 1:
        return None
    interval = proportion_interval(outcome.units_emerged, chances)
    return PercentAnswer.of(outcome.units_emerged / chances, interval)


def _summaries(session: Session, sowings: Sequence[Sowing]) -> list[SowingSummary]:
    entries = lot_entries(session, {sowing.lot_id for sowing in sowings})
    became = outcomes(session, [row_id(sowing.id) for sowing in sowings])
    return [
        _summary(sowing, entries[sowing.lot_id], became[row_id(sowing.id)]) for sowing in sowings
    ]


def _summary(sowing: Sowing, entry: LotEntry, outcome: Outcome) -> SowingSummary:
    return SowingSummary(
        **sowing.model_dump(exclude={"lot_id", "movement_id", "created_at"}),
        lot=entry.lot.code,
        variety=variety_brief(entry),
        units_emerged=outcome.units_emerged,
    )


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
        forecast = next((one for one in items if one.sowing == number), None)
        return None if forecast is None else _recorded(sowing, forecast, soil)
    return _open(session, sowing, entry.variety, facts, soil, today)


def _recorded(sowing: Sowing, forecast: ForetoldAnswer, soil: SoilWarmth) -> SowingForecastAnswer:
    return SowingForecastAnswer(
        seeds=forecast.seeds,
        expected=forecast.expected,
        low=forecast.low,
        high=forecast.high,
        first_on=_first_day(sowing, soil),
        basis=FindingAnswer.of(Finding("told-from-earlier-years")),
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
    lot = next((one for one in stock.lots if one.lot.id == sowing.lot_id), None)
    if lot is None:
        return None
    law = garden.shift_model.predict(conditions).law
    nodes = emergence_nodes(lot.viability, law, lost_share(lot.ready.share, None))
    plants = plants_law(nodes, seeds, garden.patches[sowing.protection]).summary()
    return SowingForecastAnswer(
        seeds=seeds,
        expected=round(plants.mean, 1),
        low=plants.range.low,
        high=plants.range.high,
        first_on=_first_day(sowing, soil),
        basis=FindingAnswer.of(Finding("told-from-all-so-far")),
    )


def _lost_in_soil(outcome: Outcome) -> int:
    return sum(
        loss.units_lost
        for loss in outcome.losses
        if not loss.after_emergence and loss.cause is not LossCause.NOT_EMERGED
    )


def _first_day(sowing: Sowing, soil: SoilWarmth) -> date | None:
    return None if soil.days is None else sowing.sown_on + timedelta(days=round(soil.days))
