"""Which lots of a variety to sow, and how thickly: oldest usable first, the reserve left alone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import ArrayLike
from sqlmodel import Session

from seedbank.climate.garden_year import garden_years
from seedbank.common.answers import FindingAnswer, PercentAnswer, distinct, finding_answers
from seedbank.common.errors import Conflict
from seedbank.database.cache import CacheRegion
from seedbank.emergence.tables import SowingMethod
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety, find_variety
from seedbank.lots.show_lots import lot_cautions
from seedbank.science.germination.proportion import INTERVAL_REACH
from seedbank.science.quantities import Finding, FloatArray
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw
from seedbank.science.sowing.large_bed import combined_law
from seedbank.science.sowing.lot_choice import LotChoice, choose_lots, share_by_rate
from seedbank.science.sowing.plant_counts import seedlings_law
from seedbank.science.sowing.seed_need import SeedNeed, describe_sowing
from seedbank.science.sowing.shared_bed import Bed, LotOffer
from seedbank.science.sowing.usual_rate import LIKELY_GOOD, RateAdvice, Say
from seedbank.sowing.advice_layout import around, bed_answer, row_answer
from seedbank.sowing.advice_words import not_counted, setting_reasons, setting_warnings, shortfall
from seedbank.sowing.advise_sowing import (
    Enough,
    advise_one,
    advised_by,
    lot_sources,
    plan_fields,
    unless_soil_forbids,
)
from seedbank.sowing.answers import (
    CountAnswer,
    LotShareAnswer,
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
    settle,
    sowing_place,
    unless_it_fails,
)
from seedbank.sowing.sowable_lots import SowableLot, VarietyStock, read_variety_stock
from seedbank.sowing.sowing_rate import SeedToSow, SowingPlace
from seedbank.viability.show_viability import warnings

_PLACES = (SowingMethod.STATION, SowingMethod.MODULE)


@dataclass(frozen=True, slots=True)
class _Task:
    """Everything the advice for a variety is made from."""

    stock: VarietyStock
    setting: Setting
    ground: Ground
    garden: Garden
    use_reserve: bool

    def kept_back(self, lot: SowableLot) -> int:
        return 0 if self.use_reserve else self.stock.kept_back(lot)


_ASKED: CacheRegion[VarietySowingAdviceAnswer] = CacheRegion(most=64)


def advise_variety(
    session: Session, variety_id: int, ask: SowingAsk, *, today: date
) -> VarietySowingAdviceAnswer:
    """Which lots to sow for the plants wanted, and how much of each.

    Rows and beds may mix lots. Stations and modules are sown from one: the oldest usable lot that
    can fill them, or else the one most likely to. Raises NotThere. Refused as for one lot.
    Conflict: no lot holds seed that is alive enough, or only the reserve of a rare variety.
    """
    variety = find_variety(session, variety_id)
    return _ASKED.get(
        session,
        advised_by(session),
        lambda: _worked_out(session, variety, ask, today),
        asked=(variety_id, ask.model_dump_json(), today),
    )


def _worked_out(
    session: Session, variety: Variety, ask: SowingAsk, today: date
) -> VarietySowingAdviceAnswer:
    facts = facts_for(session, session.get_one(Kind, variety.kind_id))
    year = garden_years(session).at(None)
    setting = in_season(settle(ask, variety, facts, today=today), facts, year, variety.season)
    stock = read_variety_stock(session, variety, facts, setting.day, today=today)
    garden = learn_garden(session, today=today)
    return advise_from(stock, setting, garden, use_reserve=ask.use_reserve)


def advise_from(
    stock: VarietyStock, setting: Setting, garden: Garden, *, use_reserve: bool = False
) -> VarietySowingAdviceAnswer:
    """The same from what is read already. Raises Conflict as it does."""
    task = _Task(stock, setting, ground_for(setting, garden), garden, use_reserve)
    if not stock.lots and stock.pieces is not None:
        raise Conflict("variety-planted-not-sown", "id", stock.variety.name)
    if not any(lot.usable for lot in stock.lots):
        raise _nothing_usable(stock)
    if setting.method in _PLACES:
        return unless_soil_forbids(_from_one_lot(task, _best_single(task)))
    return unless_soil_forbids(_from_several(task))


def _best_single(task: _Task) -> SowingAdviceAnswer:
    best = None
    for lot in _oldest_first(task.stock.lots):
        reserve = task.kept_back(lot)
        if not lot.usable or reserve >= lot.most:
            continue
        advice = advise_one(task.stock, lot, reserve, task.setting, task.garden)
        if advice.enough:
            return advice
        if best is None or advice.chance_of_enough.pct > best.chance_of_enough.pct:
            best = advice
    if best is None:
        raise _all_reserve(task.stock)
    return best


def _from_several(task: _Task) -> VarietySowingAdviceAnswer:
    first = _first_to_sow(task)
    if first is not None:
        # Most often the oldest lot does it by itself, and no split need be sought.
        alone = advise_one(task.stock, first, task.kept_back(first), task.setting, task.garden)
        if alone.enough:
            return _from_one_lot(task, alone)
        if first.amount is not None:  # one of which enough is surely there goes before it
            other = _best_single(task)
            if other.enough:
                return _from_one_lot(task, other)
    lots = [lot for lot in task.stock.lots if lot.held.any]
    bed = _bed(task, task.ground.pests.share)
    offers = [_offer(lot, task.setting.plants) for lot in lots]
    reserve = task.stock.variety.reserve_seeds if task.stock.rare and not task.use_reserve else 0
    if task.setting.confidence is None:
        choice = _by_rate(task, offers, bed, reserve)
    else:
        choice = choose_lots(offers, task.setting.plants, bed, task.setting.confidence, reserve)
    seeds = {share.code: share.seeds for share in choice.shares}
    used = [lot for lot in lots if seeds[lot.lot.code]]
    if not used:
        raise _all_reserve(task.stock)
    if len(used) == 1:
        alone = advise_one(task.stock, used[0], task.kept_back(used[0]), task.setting, task.garden)
        if alone.enough == choice.attained or used[0].amount is not None:
            return _from_one_lot(task, alone)
    return _mixed(task, used, choice, bed)


def _rate(task: _Task, lot: SowableLot) -> tuple[SowingPlace, RateAdvice]:
    """How thickly a lot alone would be sown, however much of it there is."""
    place = sowing_place(task.setting, task.ground, task.garden, lot.ready, task.stock.facts)
    seed = SeedToSow(lot.viability, None, rare=task.stock.rare)
    return place, place.advise(seed, task.setting.plants)


def _by_rate(task: _Task, offers: Sequence[LotOffer], bed: Bed, reserve: int) -> LotChoice:
    """Each lot at its own rate, of those worth sowing; of all where none of those may be sown."""
    rates = {lot.lot.code: _rate(task, lot)[1] for lot in task.stock.lots if lot.usable}
    units = {code: float(one.units) for code, one in rates.items()}
    worth = {
        code: units[code] for code, one in rates.items() if one.say in (Say.SOW, Say.SOW_TWICE)
    }
    choice = share_by_rate(offers, worth, task.setting.plants, bed, reserve)
    if any(share.seeds for share in choice.shares):
        return choice
    return share_by_rate(offers, units, task.setting.plants, bed, reserve)


def _first_to_sow(task: _Task) -> SowableLot | None:
    """The oldest usable lot, if any of it may be sown."""
    usable = [lot for lot in _oldest_first(task.stock.lots) if lot.usable]
    spare = (lot for lot in usable if task.kept_back(lot) < lot.most)
    return next(spare, None)


def _from_one_lot(task: _Task, advice: SowingAdviceAnswer) -> VarietySowingAdviceAnswer:
    whole = {name: getattr(advice, name) for name in SowingPlanAnswer.model_fields}
    shares = []
    for lot in _oldest_first(task.stock.lots):
        seeds = advice.seeds if lot.lot.code == advice.lot else 0
        code = "lot-oldest-that-does" if advice.enough else "lot-most-hopeful"
        if not seeds:
            code = "lot-not-needed" if advice.enough else "lot-one-at-a-time"
            if not lot.usable:
                code = "lot-little-living"
            elif task.kept_back(lot) >= lot.most:
                code = "lot-kept-as-reserve"
        shares.append(_share(lot, seeds, Finding(code, {"harvest_year": lot.harvest_year})))
    reserve = sum(task.kept_back(lot) for lot in task.stock.lots if lot.usable)
    return VarietySowingAdviceAnswer(**whole, lots=shares, kept_back=reserve, lot_advice=advice)


def _mixed(
    task: _Task, used: Sequence[SowableLot], choice: LotChoice, bed: Bed
) -> VarietySowingAdviceAnswer:
    stock, setting = task.stock, task.setting
    seeds = {share.code: share.seeds for share in choice.shares}
    why = {share.code: share.reason for share in choice.shares}
    amounts = [seeds[lot.lot.code] for lot in used]
    per_unit = stock.facts.seedlings_per_unit.value.typical
    each = seedlings_law(choice.plants, per_unit)
    place, rate = _rate(task, used[int(np.argmax(amounts))])
    attained = choice.attained and (setting.confidence is not None or rate.enough)
    need = describe_sowing(
        sum(amounts), choice.plants, each, setting.plants, choice.confidence, attained
    )
    enough = _enough(need, used, amounts, bed)
    if setting.confidence is None:
        there = np.prod([lot.chance_it_holds(n) for lot, n in zip(used, amounts, strict=True)])
        good = rate.outlook.good_end * float(there)
        enough = replace(enough, surely=attained and good >= LIKELY_GOOD)
    cautions = list(dict.fromkeys(c for lot in used for c in lot_cautions(lot.lot, stock.facts)))
    sources = rate_sources(place)
    sources += [source for lot in used for source in lot_sources(stock, lot, task.ground)]
    of_lots = [
        Finding("lot-said", {"lot": lot.lot.code, "said": one})
        for lot, seeds in zip(used, amounts, strict=True)
        for one in (*not_counted(lot, seeds), *warnings(stock.forecast, lot.position))
    ]
    return VarietySowingAdviceAnswer(
        **plan_fields(stock, setting),
        rate=rate_answer(rate, place, setting, used[int(np.argmax(amounts))]),
        enough=enough.surely,
        enough_if_there=need.attained,
        seeds=need.seeds,
        chance_of_enough=enough.chance,
        sure_plants=enough.sure_plants,
        plants=CountAnswer.of(need.plants),
        seedlings=CountAnswer.of(need.seedlings),
        to_thin=CountAnswer.of(need.surplus),
        row=row_answer(need, setting, rate.usual),
        bed=bed_answer(need, setting, rate.usual),
        reasons=finding_answers(
            [
                Finding("sowing-lots-together"),
                *shortfall(need, setting, counted=all(lot.held.seeds is not None for lot in used)),
                *setting_reasons(setting, task.ground),
            ]
        ),
        warnings=finding_answers([*setting_warnings(setting), *of_lots]),
        cautions=cautions,
        sources=distinct([*sources, *(caution.source for caution in cautions)]),
        lots=[
            _share(lot, seeds.get(lot.lot.code, 0), why.get(lot.lot.code, Finding("lot-empty")))
            for lot in _oldest_first(stock.lots)
        ],
        kept_back=choice.kept_back,
        lot_advice=None,
    )


def _enough(need: SeedNeed, used: Sequence[SowableLot], amounts: Sequence[int], bed: Bed) -> Enough:
    """P(enough), and what it is in a good and in a bad seedbed (the ends of its shift).

    Where several lots aren't counted all have little or all much: the widest it may be.
    """
    offers = [_offer(lot, need.wanted) for lot in used]
    counted = all(lot.amount is None for lot in used)
    each = [lot.alike(seeds) for lot, seeds in zip(used, amounts, strict=True)]
    given = [amounts] if counted else list(zip(*each, strict=True))

    def reached(bed: Bed, plants: ArrayLike) -> FloatArray:
        laws = [combined_law(offers, some, bed, need.wanted) for some in given]
        return np.asarray(np.mean([law.at_least(plants) for law in laws], axis=0))

    ends = []
    for z in (INTERVAL_REACH, -INTERVAL_REACH):
        known = Bed(ShiftLaw(bed.shift.mean + z * bed.shift.sd), bed.pest, bed.patches)
        ends.append(float(reached(known, need.wanted)))
    if counted:
        return Enough(around(need.reached, ends[0], ends[1]), need.attained, need.sure_plants)
    each_number = reached(bed, np.arange(need.wanted + 1))
    chance, sure = float(each_number[-1]), int(np.sum(each_number >= need.confidence)) - 1
    surely = need.attained and chance >= need.confidence
    return Enough(around(chance, ends[0], ends[1]), surely, min(sure, need.sure_plants))


def _bed(task: _Task, eaten: BetaShare) -> Bed:
    return Bed(unless_it_fails(task.ground), eaten, task.garden.patches[task.setting.protection])


def _offer(lot: SowableLot, plants: int) -> LotOffer:
    ready = lot.ready.share.mean
    return LotOffer(
        lot.lot.code,
        lot.harvest_year,
        lot.viability,
        lot.most_for(plants),
        ready,
        counted=lot.held.seeds is not None,
    )


def _share(lot: SowableLot, seeds: int, reason: Finding) -> LotShareAnswer:
    return LotShareAnswer(
        lot=lot.lot.code,
        seeds=seeds,
        held=lot.held.seeds,
        viability=PercentAnswer.of(lot.median, lot.range),
        reckoned=not lot.fleeting,
        reason=FindingAnswer.of(reason),
    )


def _oldest_first(lots: Sequence[SowableLot]) -> list[SowableLot]:
    return sorted(lots, key=lambda lot: (lot.harvest_year, lot.lot.code))


def _nothing_usable(stock: VarietyStock) -> Conflict:
    held = any(lot.held.any for lot in stock.lots)
    return Conflict("all-lots-nearly-dead" if held else "no-lot-holds-seed", "id", stock.variety.id)


def _all_reserve(stock: VarietyStock) -> Conflict:
    return Conflict(
        "variety-all-reserve", "use_reserve", False, reserve_seeds=stock.variety.reserve_seeds
    )
