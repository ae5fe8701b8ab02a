"""The seed crops of a plan as they are answered: what to sow, why now, and how to isolate it.

What becomes of one variety if its seed crops were others than planned.
"""

from collections.abc import Sequence
from dataclasses import replace

from seedbank.common.answers import VarietyBrief, finding_answers
from seedbank.kinds.tables import Breeding
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.plan.answers import (
    CropNowAnswer,
    PlannedCropAnswer,
    PlanYearAnswer,
    StandingCropAnswer,
)
from seedbank.plan.ground import requirement_of
from seedbank.plan.inputs import PlanInputs
from seedbank.plan.stock import StockedVariety
from seedbank.saving.gather_flowering import carrier_of, mating_of
from seedbank.science.crossing.crossing_risk import Mating
from seedbank.science.plan.plan import Plan
from seedbank.science.plan.plan_columns import build_columns
from seedbank.science.plan.plan_problem import Crop, PlanProblem, PlanVariety
from seedbank.science.quantities import Finding
from seedbank.science.saving.seed_parents import plants_to_start, usual_losses
from seedbank.science.sowing.emergence import (
    ShiftLaw,
    emergence_nodes,
    lot_viability,
)
from seedbank.verdicts.list_verdicts import chance_told, seeds_to_sow
from seedbank.verdicts.lot_prospects import PARENTS_CONFIDENCE, under_cover_shift
from seedbank.viability.forecast_viability import lot_nodes, most_to_advise, seeds_counted
from seedbank.viability.tables.stock_columns import KEEPERS


def loss_of(problem: PlanProblem, name: str, crops: Sequence[Crop]) -> float | None:
    """Chance (0..1) that a variety is lost with just these seed crops; None if they can't be."""
    alone = replace(
        problem,
        varieties=tuple(
            replace(v, most_crops=max(v.most_crops, len(crops)))
            for v in problem.varieties
            if v.name == name
        ),
        pins=tuple(pin for pin in problem.pins if pin.variety == name),
        standing=tuple(crop for crop in problem.standing if crop.variety == name),
    )
    columns = build_columns(alone, {name: tuple(crops)})
    for number in (columns.changed == 0).nonzero()[0].tolist():
        column = columns.column(number)
        if column.crops == tuple(crops):
            return column.loss
    return None


def skipped(crops: Sequence[Crop], gap: int, horizon: int) -> tuple[Crop, ...]:
    """The crops with the first one left out this season and grown in the next.

    The later ones are put off as far as ``gap``, the seasons between sowings, asks; what falls out
    of the horizon is not grown.
    """
    first, *rest = crops
    moved = [replace(first, season=first.season + 1)]
    for crop in rest:
        moved.append(replace(crop, season=max(crop.season, moved[-1].season + gap)))
    return tuple(crop for crop in moved if crop.season < horizon)


def losses_of(
    problem: PlanProblem, variety: PlanVariety, crops: Sequence[Crop]
) -> tuple[float, float, float]:
    """Chance of loss with the crops, with the first skipped a year, and without any crop."""
    without = loss_of(problem, variety.name, ())
    assert without is not None  # growing nothing can always be done
    kept = loss_of(problem, variety.name, crops)
    # Pins may ask for crops closer together than is usual.
    pinned = any(pin.variety == variety.name and pin.wanted for pin in problem.pins)
    gap = variety.lead if pinned else max(variety.gap, variety.lead)
    later = loss_of(problem, variety.name, skipped(crops, gap, problem.horizon))
    if later is None:
        later = loss_of(problem, variety.name, crops[1:])
    return (
        without if kept is None else kept,
        without if later is None else later,
        without,
    )


CLEAR_DIFFERENCE = 0.01  # in the chance of loss, under which a year's wait hardly tells; our choice
_SERVES_WHILE = 0.5  # chance that new seed still raises the parents: our choice


def variety_brief(one: StockedVariety) -> VarietyBrief:
    """A variety, in short."""
    return VarietyBrief(id=one.variety_id, name=one.name, kind=one.facts.slug)


def crops_this_year(inputs: PlanInputs, plan: Plan) -> list[CropNowAnswer]:
    """What to sow this year, the rarest first, then what loses most by waiting."""
    asked = {variety.name: variety for variety in inputs.problem.varieties}
    found = [
        _crop_now(inputs, asked[column.variety], column.crops)
        for column in plan.columns
        if column.crops and column.crops[0].season == 0
    ]
    return sorted(
        found,
        key=lambda crop: (
            KEEPERS.index(crop.other_keepers),
            crop.chance_of_loss - crop.chance_of_loss_if_skipped,
            crop.variety.id,
        ),
    )


def later_years(inputs: PlanInputs, plan: Plan) -> list[PlanYearAnswer]:
    """The crops of each later year in which any is sown, rarest first."""
    years = []
    for season in range(1, inputs.problem.horizon):
        sown = [_planned(inputs, inputs.varieties[key], crop) for key, crop in plan.sown_in(season)]
        sown.sort(key=lambda crop: (KEEPERS.index(crop.other_keepers), crop.variety.id))
        if sown:
            years.append(PlanYearAnswer(year=inputs.year + season, sow=sown))
    return years


def standing_crops(inputs: PlanInputs) -> list[StandingCropAnswer]:
    """Crops sown in an earlier year that flower this year."""
    return [
        StandingCropAnswer(
            variety=variety_brief(inputs.varieties[crop.variety]),
            site=crop.site,
            isolation=Isolation(crop.way),
        )
        for crop in inputs.problem.standing
    ]


def plants_needed(inputs: PlanInputs, one: StockedVariety) -> int:
    """Plants to raise of a variety's lot, so that the usual losses leave its seed parents."""
    forecast = inputs.stock.judged.forecast
    viable = lot_viability(lot_nodes(forecast, one.lot, forecast.today))
    need = plants_to_start(
        one.parents,
        emergence_nodes(viable, ShiftLaw(under_cover_shift())),
        usual_losses(one.lead > 1),
        PARENTS_CONFIDENCE,
        available=most_to_advise(forecast.collection, one.lot),
    )
    return need.plants


def _planned(inputs: PlanInputs, one: StockedVariety, crop: Crop) -> PlannedCropAnswer:
    return PlannedCropAnswer(**_planned_fields(inputs, one, crop))


def _planned_fields(inputs: PlanInputs, one: StockedVariety, crop: Crop) -> dict[str, object]:
    return {
        "variety": variety_brief(one),
        "other_keepers": KEEPERS[one.keepers],
        "sow_in": inputs.year + crop.season,
        "flowers_in": inputs.year + crop.season + one.lead - 1,
        "site": crop.site,
        "isolation": Isolation(crop.way),
        "seed_parents": one.parents,
    }


def _crop_now(inputs: PlanInputs, asked: PlanVariety, crops: Sequence[Crop]) -> CropNowAnswer:
    one, crop = inputs.varieties[asked.name], crops[0]
    judged = inputs.stock.judged
    lots, seen = judged.forecast.collection, judged.verdicts.inputs
    sow, hold = seeds_to_sow(judged, one.lot)
    losses = losses_of(inputs.problem, asked, crops)
    sown = one.key in inputs.sown_now
    on_record = any(pin.wanted and pin.variety == one.key for pin in inputs.settled.crops)
    pinned = any(
        own.pin is not None and own.pin.wanted and own.pin.variety == one.key
        for own in inputs.settled.own
    )
    return CropNowAnswer(
        **_planned_fields(inputs, one, crop),
        on_record=on_record,
        pinned=pinned,
        required_m=requirement_of(one).distance_m,
        sow_lot=None if sown else lots.code[one.lot],
        seeds_held=seeds_counted(lots, one.lot),
        seeds_to_sow=None if sown else sow,
        seeds_to_hold=None if sown else hold,
        plants_to_raise=plants_needed(inputs, one),
        probability_now=chance_told(seen.p_parents_now[one.lot]),
        probability_next_season=chance_told(seen.p_parents_next[one.lot]),
        purity=lots.purity[one.lot],
        purity_note=lots.purity_note[one.lot],
        chance_of_loss=chance_told(losses[0]),
        chance_of_loss_if_skipped=chance_told(losses[1]),
        chance_of_loss_without=chance_told(losses[2]),
        reasons=finding_answers(_reasons(inputs, one, crop, losses, sown)),
    )


def _reasons(
    inputs: PlanInputs,
    one: StockedVariety,
    crop: Crop,
    losses: tuple[float, float, float],
    sown: bool,
) -> list[Finding]:
    found = [Finding("sown")] if sown else _why_now(inputs, one)
    found.append(_if_skipped(inputs, losses))
    found.append(_isolate(one, crop))
    if one.lead > 1:
        year, late = inputs.year + 1, one.facts.may_flower_later
        two = {"flower_year": year, "sow_year": year + 1, "may_flower_later": late}
        found.append(Finding("two-years", two))
    return [*found, *_cautions(inputs, one)]


def _why_now(inputs: PlanInputs, one: StockedVariety) -> list[Finding]:
    """That its chances fall clearly by next year, or else the verdict's weightiest reason."""
    verdicts = inputs.stock.judged.verdicts
    seen = verdicts.inputs
    now = chance_told(seen.p_parents_now[one.lot])
    later = chance_told(seen.p_parents_next[one.lot])
    if now - later < CLEAR_DIFFERENCE:
        return list(verdicts.reasons(one.lot)[:1])
    return [Finding("why-now", {"now": now, "next": later, "parents": one.parents})]


def _if_skipped(inputs: PlanInputs, losses: tuple[float, float, float]) -> Finding:
    kept, skipped, never = (chance_told(loss) for loss in losses)
    return Finding(
        "if-skipped",
        {
            "loss": kept,
            "loss_skipped": skipped,
            "loss_never": never,
            "year": inputs.year + inputs.problem.last,
            "can_wait": skipped - kept < CLEAR_DIFFERENCE,
        },
    )


def _isolate(one: StockedVariety, crop: Crop) -> Finding:
    return Finding(
        "isolate",
        {
            "isolation": crop.way,
            "required_m": requirement_of(one).distance_m,
            "with_insects": mating_of(one.facts) is not Mating.SELFING
            and carrier_of(one.facts) != "self",
        },
    )


def _cautions(inputs: PlanInputs, one: StockedVariety) -> list[Finding]:
    lots, found = inputs.stock.judged.forecast.collection, []
    if lots.purity[one.lot] is Purity.RISK:
        note = lots.purity_note[one.lot] or Finding("may-have-crossed")
        found.append(Finding("purity-risk", {"note": note}))
    if one.breeding is Breeding.UNKNOWN:
        found.append(Finding("breeding-unknown", {"parents_needed": one.parents}))
    serves = int((one.fresh >= _SERVES_WHILE).sum()) - 1
    if serves < inputs.problem.horizon:
        found.append(Finding("keeps-badly", {"years": max(serves, 0)}))
    return found
