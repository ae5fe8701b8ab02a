"""How thickly to sow one lot."""

from datetime import date

from sqlmodel import Session

from seedbank.common.answers import PercentAnswer, Source, VarietyBrief, distinct
from seedbank.common.errors import Conflict
from seedbank.database.find import row_id
from seedbank.facts.field_factors import shift_prior_sources, temperature_curve_for
from seedbank.facts.kind_facts import KindFacts
from seedbank.facts.sources import sources_of
from seedbank.kinds.kind_facts import facts_for
from seedbank.kinds.tables.kinds import Kind
from seedbank.kinds.tables.varieties import Variety
from seedbank.lots.show_lots import lot_cautions
from seedbank.lots.tables.lots import find_lot
from seedbank.lots.weighing import seed_weight
from seedbank.science.sowing.emergence import WeightedNodes, emergence_nodes
from seedbank.science.sowing.soil_warmth import UNFIT
from seedbank.science.sowing.sowing import Seedbed, SeedInHand, SowingAdvice, advise_sowing
from seedbank.sowing.advice_words import (
    alternatives,
    density_warnings,
    lot_reasons,
    setting_reasons,
    setting_warnings,
    stock_warnings,
    unit_reasons,
)
from seedbank.sowing.answers.sowing_advice import CountAnswer, SoilAnswer, SowingAdviceAnswer
from seedbank.sowing.forms.sowing_advice import SowingAsk
from seedbank.sowing.layouts import (
    bed_answer,
    by_feel_answer,
    cells_answer,
    chance_of_enough,
    grams_answer,
    node_range,
    row_answer,
    stations_answer,
)
from seedbank.sowing.learn_from_sowings import Garden, learn_garden
from seedbank.sowing.setting import Ground, Setting, ground_for, seedbed, settle
from seedbank.sowing.soil_forbids import unless_soil_forbids
from seedbank.sowing.sowable_lots import SowableLot, VarietyStock, read_variety_stock
from seedbank.viability.show_viability import EQUATION_SOURCES
from seedbank.viability.words import to_narrow, warnings

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


def advise_lot(session: Session, code: str, ask: SowingAsk, *, today: date) -> SowingAdviceAnswer:
    """How thickly to sow a lot for the plants wanted.

    Raises MisreadCode, NotThere. Refused: no plants wanted, a day gone by, a limit that doesn't go
    with the method. Conflict: the lot holds no seed, or only the reserve of a rare variety.
    """
    lot = find_lot(session, code)
    variety = session.get_one(Variety, lot.variety_id)
    facts = facts_for(session, session.get_one(Kind, variety.kind_id))
    setting = settle(ask, variety, facts, today=today)
    stock = read_variety_stock(session, variety, facts, setting.day, today=today)
    garden = learn_garden(session, today=today)
    chosen = next(each for each in stock.lots if each.lot.id == lot.id)
    kept = 0 if ask.use_reserve else stock.kept_back(chosen)
    return unless_soil_forbids(advise_one(stock, chosen, kept, setting, garden))


def advise_one(
    stock: VarietyStock, lot: SowableLot, kept_back: int, setting: Setting, garden: Garden
) -> SowingAdviceAnswer:
    """The advice for one lot of a variety. Raises Conflict: nothing of it may be sown."""
    available = lot.most - (kept_back if lot.held.seeds is not None else 0)
    if available < 1:
        raise _nothing_to_sow(lot, kept_back)
    facts = stock.facts
    ground = ground_for(setting, garden)
    bed = seedbed(setting, ground, garden, lot.ready)
    per_unit = facts.seedlings_per_unit.value.typical
    advice = advise_sowing(
        SeedInHand(lot.viability, available, seedlings_per_unit=per_unit),
        bed,
        setting.plants,
        setting.confidence,
        garden.seeds_per_plant.get(facts.slug, ()),
    )
    emergence = emergence_nodes(lot.viability, bed.shift_mean, bed.shift_sd, bed.pest)
    return _answer(stock, lot, kept_back, setting, ground, bed, advice, emergence)


def _answer(
    stock: VarietyStock,
    lot: SowableLot,
    kept_back: int,
    setting: Setting,
    ground: Ground,
    bed: Seedbed,
    advice: SowingAdvice,
    emergence: WeightedNodes,
) -> SowingAdviceAnswer:
    facts, need = stock.facts, advice.need
    weight = seed_weight(lot.lot, facts)
    comes_up = PercentAnswer.of(emergence.mean, node_range(emergence))
    cautions = lot_cautions(lot.lot, facts)
    per_unit = facts.seedlings_per_unit.value.typical
    sources = lot_sources(stock, lot, ground) + ([weight.source] if weight else [])
    return SowingAdviceAnswer(
        **plan_fields(stock, setting),
        lot=lot.lot.code,
        enough=need.attained,
        seeds=need.seeds,
        chance_of_enough=chance_of_enough(advice, bed, emergence),
        sure_plants=need.sure_plants,
        plants=CountAnswer.of(need.plants),
        seedlings=CountAnswer.of(need.seedlings),
        to_thin=CountAnswer.of(need.surplus),
        row=row_answer(need, setting),
        stations=stations_answer(advice, bed, emergence),
        cells=cells_answer(advice, bed, emergence),
        bed=bed_answer(need, setting),
        grams=grams_answer(need.seeds, weight),
        seeds_available=None if lot.held.seeds is None else lot.held.seeds - kept_back,
        kept_back=kept_back,
        viability=PercentAnswer.of(lot.median, lot.range),
        reckoned=not lot.fleeting,
        ready=PercentAnswer.of(lot.ready.share.mean, lot.ready.range),
        emergence=comes_up,
        seedlings_per_seed=per_unit,
        by_feel=by_feel_answer(advice, emergence, per_unit),
        alternatives=alternatives(advice.alternatives, stock, lot),
        reasons=[
            *lot_reasons(lot, setting, comes_up, need),
            *unit_reasons(facts),
            *setting_reasons(setting, ground),
        ],
        warnings=[
            *setting_warnings(setting),
            *([] if setting.soil.verdict in UNFIT else density_warnings(need)),
            *stock_warnings(lot, kept_back),
            *warnings(stock.seen, lot.position),
            *to_narrow(stock.seen, lot.position),
        ],
        cautions=cautions,
        sources=distinct([*sources, *(caution.source for caution in cautions)]),
    )


def plan_fields(stock: VarietyStock, setting: Setting) -> dict[str, object]:
    """What is the same for every lot of the variety."""
    facts, variety = stock.facts, stock.variety
    return {
        "variety": VarietyBrief(id=row_id(variety.id), name=variety.name, kind=stock.kind.slug),
        "sow_on": setting.day,
        "method": setting.method,
        "protection": setting.protection,
        "plants_wanted": setting.plants,
        "confidence_pct": round(100.0 * setting.confidence, 2),
        "depth_cm": facts.depth_cm.value if facts.depth_cm else None,
        "between_rows_cm": facts.row_cm.value.typical if facts.row_cm else None,
        "soil": SoilAnswer(
            soil_temp_c=setting.soil_temp_c,
            verdict=setting.soil.verdict,
            days_to_emergence=None if setting.soil.days is None else round(setting.soil.days, 1),
            text=setting.soil.caution,
        ),
    }


def lot_sources(stock: VarietyStock, lot: SowableLot, ground: Ground) -> list[Source]:
    """Everything the advice for a lot draws on, what is from memory marked so."""
    facts = stock.facts
    cited = (
        *stock.seen.keeping_of(lot.position).sources,
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
            f"All {kept_back} seeds of lot {lot.lot.code} are the reserve of a rare variety.",
            field="use_reserve",
            value=False,
            mend="Ask to sow the reserve too, if you mean to renew the seed.",
        )
    return Conflict(
        f"Lot {lot.lot.code} holds no seed.",
        field="code",
        value=lot.lot.code,
        mend="Ask for another lot, or take stock if the packet isn't empty.",
    )
