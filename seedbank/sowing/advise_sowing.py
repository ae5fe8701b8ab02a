"""How thickly to sow one lot: the layout, each chance with its interval, and where the soil says
no.
"""

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

import numpy as np
from sqlmodel import Session

from seedbank.climate.garden_year import garden_years
from seedbank.climate.tables import GardenClimate
from seedbank.common.answers import (
    FindingAnswer,
    PercentAnswer,
    Source,
    VarietyBrief,
    distinct,
    finding_answers,
)
from seedbank.common.errors import Conflict
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, changes, topics_of
from seedbank.database.find import row_id
from seedbank.facts.field_factors import shift_prior_sources, temperature_curve_for
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import sources_of
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.show_lots import lot_cautions
from seedbank.lots.tables.ledger import balance
from seedbank.lots.tables.lots import Lot, SeedForm, find_lot
from seedbank.lots.tables.mixtures import parts_of
from seedbank.lots.weighing import seed_weight
from seedbank.science.quantities import Finding, Value
from seedbank.science.sowing.emergence import WeightedNodes, emergence_nodes
from seedbank.science.sowing.plant_counts import probability_enough
from seedbank.science.sowing.soil_warmth import UNFIT
from seedbank.science.sowing.sowing import (
    Seedbed,
    SeedInHand,
    SowingAdvice,
    advise_sowing,
    alternatives,
    sow_at_rate,
)
from seedbank.science.sowing.sowing_layout import (
    CellLayout,
    StationLayout,
    places_filled,
)
from seedbank.science.sowing.usual_rate import LIKELY_GOOD, RateAdvice
from seedbank.sowing.advice_layout import (
    around,
    bed_answer,
    by_feel_answer,
    cells_answer,
    grams_answer,
    node_range,
    row_answer,
    stations_answer,
)
from seedbank.sowing.advice_words import (
    alternative_answers,
    lot_reasons,
    setting_reasons,
    setting_warnings,
    stock_warnings,
    unit_reasons,
)
from seedbank.sowing.answers import (
    CountAnswer,
    SoilAnswer,
    SowingAdviceAnswer,
    SowingPlanAnswer,
    VarietySowingAdviceAnswer,
)
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.learn_from_sowings import Garden, learn_garden
from seedbank.sowing.rate_words import rate_answer, rate_sources
from seedbank.sowing.setting import (
    Ground,
    Setting,
    ground_for,
    in_season,
    seedbed,
    settle,
    sowing_place,
)
from seedbank.sowing.several_to_a_cell import several_to_a_cell
from seedbank.sowing.sowable_lots import SowableLot, VarietyStock, read_variety_stock
from seedbank.sowing.sowing_rate import SeedToSow
from seedbank.viability.show_viability import EQUATION_SOURCES, recalled, to_narrow, warnings
from seedbank.viability.tables.change_topics import JUDGED


@dataclass(frozen=True, slots=True)
class Enough:
    """Whether what is advised gives the plants wanted: over all that isn't known, the amount of a
    lot nobody has counted too."""

    chance: PercentAnswer
    surely: bool
    sure_plants: int


def enough_of(
    advice: SowingAdvice,
    bed: Seedbed,
    emergence: WeightedNodes,
    lot: SowableLot,
    rate: RateAdvice | None,
) -> Enough:
    """The chance of enough, with what it is by luck alone at both ends of emergence.

    With a ``rate`` enough is a good crop in the end, likely, the amount of a lot not counted too.
    """
    need, ends = advice.need, node_range(emergence)
    known = [WeightedNodes(np.array([end]), np.ones(1)) for end in (ends.low, ends.high)]
    amounts = lot.amounts_for(need.seeds)

    def reached(chance: WeightedNodes, wanted: int) -> float:
        each = (_reached(advice, bed, chance, seeds, wanted) for seeds, _ in amounts)
        return sum(w * p for (_, w), p in zip(amounts, each, strict=True))

    wanted = _places_or_plants(advice)
    good = None if rate is None else rate.outlook.good_end * lot.chance_it_holds(need.seeds)
    low, high = (reached(chance, wanted) for chance in known)
    if lot.amount is None:
        return Enough(around(need.reached, low, high), need.attained, need.sure_plants)
    sure, over = 0, need.sure_plants + 1
    while over - sure > 1:
        middle = (sure + over) // 2
        does = reached(emergence, middle) >= need.confidence
        sure, over = (middle, over) if does else (sure, middle)
    chance = reached(emergence, wanted)
    surely = need.attained and (chance >= need.confidence if good is None else good >= LIKELY_GOOD)
    return Enough(around(chance, low, high), surely, sure)


def _places_or_plants(advice: SowingAdvice) -> int:
    need, layout = advice.need, advice.layout
    if isinstance(layout, StationLayout):
        return math.ceil(layout.share * need.wanted - 1e-9)
    return need.wanted


def _reached(
    advice: SowingAdvice, bed: Seedbed, emergence: WeightedNodes, seeds: int, wanted: int
) -> float:
    """P(so many plants, or places filled) where ``seeds`` are there of those advised."""
    layout, rho = advice.layout, bed.patches.rho
    if isinstance(layout, StationLayout):
        each, places = layout.seeds_per_station, layout.stations
    elif isinstance(layout, CellLayout):
        each, places = layout.seeds_per_cell, layout.cells
    else:
        return float(probability_enough(emergence, seeds, wanted, bed.patches))
    return places_filled(emergence, min(places, seeds // each), each, wanted, rho)


Advice = TypeVar("Advice", bound=SowingPlanAnswer)


def soil_forbids(advice: SowingPlanAnswer) -> bool:
    """Whether the soil is too cold or too hot to sow at all."""
    return advice.soil.verdict in UNFIT


def unless_soil_forbids(advice: Advice) -> Advice:
    """The advice itself, or with no seed to sow and no layout where the soil is not fit."""
    if not soil_forbids(advice):
        return advice
    changes: dict[str, object] = {
        "seeds": 0,
        "enough": False,
        "enough_if_there": False,
        "row": None,
        "bed": None,
        "reasons": [
            advice.soil,
            FindingAnswer.of(Finding("sowing-all-the-same")),
            *advice.reasons,
        ],
    }
    if isinstance(advice, SowingAdviceAnswer):
        changes |= {"grams": None, "stations": None, "cells": None, "by_feel": None}
        changes |= {"several": None, "successions": None}
    if isinstance(advice, VarietySowingAdviceAnswer):
        changes["lots"] = [share.model_copy(update={"seeds": 0}) for share in advice.lots]
    return advice.model_copy(update=changes)


_METHOD_SOURCES = (
    Source(
        text="field stress shifts emergence in probits: Ellis & Roberts 1980, Annals of Botany "
        "45:13-30; 1981, Seed Science and Technology 9:373-409",
        confidence="memory",
    ),
    Source(
        text="patchy emergence: beta-binomial (Skellam 1948, J. R. Statist. Soc. B 10:257-261); "
        "correlation within a patch: our choice",
        confidence="memory",
    ),
)


_ASKED: CacheRegion[SowingAdviceAnswer] = CacheRegion(most=64)


def advise_lot(session: Session, code: str, ask: SowingAsk, *, today: date) -> SowingAdviceAnswer:
    """How thickly to sow a lot for the plants wanted.

    Raises MisreadCode, NotThere. Refused: no plants wanted, a day gone by, a limit that doesn't go
    with the method. Conflict: the lot holds no seed, or only the reserve of a rare variety.
    """
    lot = find_lot(session, code)
    return _ASKED.get(
        session,
        advised_by(session),
        lambda: _worked_out(session, lot, ask, today),
        asked=(lot.id, ask.model_dump_json(), today),
    )


def advised_by(session: Session) -> Changes:
    """Where the counters stand of what advice on sowing rests on, the day and question beside."""
    return changes(session, (*JUDGED, *topics_of(GardenClimate)))


def _worked_out(session: Session, lot: Lot, ask: SowingAsk, today: date) -> SowingAdviceAnswer:
    variety = session.get_one(Variety, lot.variety_id)
    facts = facts_for(session, session.get_one(Kind, variety.kind_id))
    year = garden_years(session).at(None)
    setting = in_season(settle(ask, variety, facts, today=today), facts, year, variety.season)
    _check_there_is_seed(session, lot, facts)
    stock = read_variety_stock(session, variety, facts, setting.day, today=today)
    garden = learn_garden(session, today=today)
    chosen = next(each for each in stock.lots if each.lot.id == lot.id)
    reserve = 0 if ask.use_reserve else stock.kept_back(chosen)
    return unless_soil_forbids(advise_one(stock, chosen, reserve, setting, garden))


def _check_there_is_seed(session: Session, lot: Lot, facts: KindFacts) -> None:
    """Raises Conflict, before anything dear is read: it is a mixture, planting stock or empty."""
    number = row_id(lot.id)
    if parts_of(session, [number]):
        raise Conflict("mixture-sown-by-parts", "code", lot.code)
    if facts.is_planting_stock(lot.kept_as):
        raise Conflict("planting-stock-not-sown", "code", lot.code)
    if balance(session, number).seeds == 0:
        raise Conflict("lot-holds-no-seed", "code", lot.code)


def advise_one(
    stock: VarietyStock, lot: SowableLot, kept_back: int, setting: Setting, garden: Garden
) -> SowingAdviceAnswer:
    """The advice for one lot of a variety. Raises Conflict: nothing of it may be sown."""
    available = lot.most_for(setting.plants) - (kept_back if lot.held.seeds is not None else 0)
    if available < 1:
        raise _nothing_to_sow(lot, kept_back)
    facts = stock.facts
    ground = ground_for(setting, garden)
    bed = seedbed(setting, ground, garden, lot.ready)
    per_unit = facts.seedlings_per_unit.value.typical
    place = sowing_place(setting, ground, garden, lot.ready, facts)
    rate = place.advise(_seed_to_sow(stock, lot, available), setting.plants)
    bed = replace(bed, most_a_place=rate.usual.most)
    before = garden.seeds_per_plant.get(facts.slug, ())
    seed = SeedInHand(lot.viability, available, seedlings_per_unit=per_unit)
    if setting.confidence is None:
        advice = sow_at_rate(seed, bed, setting.plants, rate, before)
    else:
        advice = advise_sowing(seed, bed, setting.plants, setting.confidence, before)
        rate = rate.at(advice.need.seeds / rate.bed.places)
    saved = place.saved_by_test(rate, lot.viability)
    instead = alternatives(bed, rate, saved, lot.held.seeds and available)
    emergence = emergence_nodes(lot.viability, bed.shift, bed.pest)
    need = advice.need
    enough = enough_of(advice, bed, emergence, lot, None if setting.confidence else rate)
    weight = seed_weight(lot.lot, facts)
    ends = node_range(emergence)
    comes_up = around(emergence.mean, ends.low, ends.high)
    cautions = lot_cautions(lot.lot, facts)
    sources = [*rate_sources(place), *lot_sources(stock, lot, ground)]
    sources += [weight.source] if weight else []
    return SowingAdviceAnswer(
        **plan_fields(stock, setting),
        lot=lot.lot.code,
        rate=rate_answer(rate, place, setting, lot),
        enough=enough.surely,
        enough_if_there=need.attained,
        seeds=need.seeds,
        chance_of_enough=enough.chance,
        sure_plants=enough.sure_plants,
        plants=CountAnswer.of(need.plants),
        seedlings=CountAnswer.of(need.seedlings),
        to_thin=CountAnswer.of(need.surplus),
        row=row_answer(need, setting, rate.usual),
        stations=stations_answer(advice, bed, emergence),
        cells=cells_answer(advice, bed, emergence),
        several=several_to_a_cell(place, setting, lot, emergence, available),
        successions=_successions(need.seeds, setting, lot, available),
        bed=bed_answer(need, setting, rate.usual),
        grams=grams_answer(need.seeds, weight),
        seeds_available=None if lot.held.seeds is None else lot.held.seeds - kept_back,
        chance_it_is_there=round(lot.chance_it_holds(need.seeds), 4),
        kept_back=kept_back,
        viability=PercentAnswer.of(lot.median, lot.range),
        reckoned=not lot.fleeting,
        recalled_share=stock.forecast.recalled_share(lot.position),
        ready=PercentAnswer.of(lot.ready.share.mean, lot.ready.range),
        emergence=comes_up,
        seedlings_per_seed=per_unit,
        by_feel=by_feel_answer(advice, emergence, per_unit),
        alternatives=alternative_answers(instead, stock, lot),
        reasons=finding_answers(
            [
                *lot_reasons(lot, setting, comes_up, need),
                *_half_more(advice, bed, emergence, setting),
                *unit_reasons(facts),
                *setting_reasons(setting, ground),
                *recalled(stock.forecast, lot.position),
            ]
        ),
        warnings=finding_answers(
            [
                *setting_warnings(setting),
                *stock_warnings(lot, kept_back, need.seeds),
                *warnings(stock.forecast, lot.position),
                *to_narrow(stock.forecast, lot.position),
            ]
        ),
        cautions=cautions,
        sources=distinct([*sources, *(caution.source for caution in cautions)]),
    )


def _seed_to_sow(stock: VarietyStock, lot: SowableLot, available: int) -> SeedToSow:
    counted = None if lot.held.seeds is None else available
    pelleted = lot.lot.seed_form is SeedForm.PELLETED
    return SeedToSow(lot.viability, counted, rare=stock.rare, pelleted=pelleted)


def _successions(
    seeds: int, setting: Setting, lot: SowableLot, available: int
) -> FindingAnswer | None:
    """What several such sowings take; within weeks a lot hardly changes."""
    if setting.sowings is None:
        return None
    counted = lot.held.seeds is not None
    values: dict[str, Value] = {
        "sowings": setting.sowings,
        "seeds": seeds * setting.sowings,
        "enough_for": min(available // seeds, setting.sowings) if counted else None,
        "last_on": setting.season.last_on,
    }
    return FindingAnswer.of(Finding("successions", values))


def _half_more(
    advice: SowingAdvice, bed: Seedbed, emergence: WeightedNodes, setting: Setting
) -> list[Finding]:
    """What half as much seed again would buy where a confidence was asked for."""
    if setting.confidence is None:
        return []
    need, wanted = advice.need, _places_or_plants(advice)
    more = math.ceil(1.5 * need.seeds)
    raised = _thicker(advice, 1.5)
    values: dict[str, Value] = {
        "seeds": more,
        "plants": wanted,
        "p": _reached(advice, bed, emergence, need.seeds, wanted),
        "p_more": _reached(raised, bed, emergence, more, wanted),
    }
    return [Finding("half-more-buys", values)]


def _thicker(advice: SowingAdvice, times: float) -> SowingAdvice:
    """The same with more stations or cells sown, so that more seed has a place."""
    layout = advice.layout
    if isinstance(layout, StationLayout):
        layout = replace(layout, seeds_per_station=math.ceil(times * layout.seeds_per_station))
    elif isinstance(layout, CellLayout):
        layout = replace(layout, cells=math.ceil(times * layout.cells))
    return replace(advice, layout=layout)


def plan_fields(stock: VarietyStock, setting: Setting) -> dict[str, object]:
    """What is the same for every lot of the variety."""
    facts, variety = stock.facts, stock.variety
    return {
        "variety": VarietyBrief(id=row_id(variety.id), name=variety.name, kind=stock.kind.slug),
        "sow_on": setting.day,
        "method": setting.method,
        "protection": setting.protection,
        "plants_wanted": setting.plants,
        "out_of_season": setting.season.missed and FindingAnswer.of(setting.season.missed),
        "confidence_pct": setting.confidence and round(100.0 * setting.confidence, 2),
        "depth_cm": facts.depth_cm.value if facts.depth_cm else None,
        "between_rows_cm": facts.row_cm.value.typical if facts.row_cm else None,
        "soil": SoilAnswer.of(
            setting.soil.caution,
            soil_temp_c=setting.soil_temp_c,
            verdict=setting.soil.verdict,
            days_to_emergence=None if setting.soil.days is None else round(setting.soil.days, 1),
        ),
    }


def lot_sources(stock: VarietyStock, lot: SowableLot, ground: Ground) -> list[Source]:
    """Everything the advice for a lot draws on, what is from memory marked so."""
    facts = stock.facts
    cited = (
        *stock.forecast.keeping_of(lot.position).sources,
        *temperature_curve_for(facts).sources,
        *shift_prior_sources(),
        *sources_of(*_facts_used(facts)),
    )
    return [
        *EQUATION_SOURCES,
        *_METHOD_SOURCES,
        Source(text=f"share eaten by pests: {ground.pests.source}", confidence="memory"),
        *(Source(text=one.text, confidence=one.confidence) for one in cited),
    ]


def _facts_used(facts: KindFacts) -> tuple[object, ...]:
    cluster = facts.seedlings_per_unit if facts.seed_unit.value == "cluster" else None
    return (
        facts.minimum_germination_pct,
        facts.depth_cm,
        facts.in_row_cm,
        facts.row_cm,
        facts.sowing_method,
        facts.field_emergence,
        cluster,
    )


def _nothing_to_sow(lot: SowableLot, kept_back: int) -> Conflict:
    if kept_back:
        return Conflict(
            "lot-all-reserve",
            "use_reserve",
            False,
            kept_back=kept_back,
            lot=lot.lot.code,
        )
    return Conflict("lot-holds-no-seed", "code", lot.lot.code)
