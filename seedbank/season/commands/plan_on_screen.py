"""A saving plan on the screen: this year's list, what it asks besides, and the years after."""

from collections.abc import Iterable, Sequence

from seedbank.cli.screen import bullets, chance, heading, name_of, screen, table, told_sources
from seedbank.common.answers import VarietyBrief
from seedbank.database.empty_collection import EMPTY, NOTHING_YET
from seedbank.plan.answers import CropNowAnswer, ExposedAnswer, SavingPlanAnswer


def show_plan(plan: SavingPlanAnswer) -> None:
    """The whole plan, or that there is nothing to plan with."""
    if plan.remarks[:1] == [EMPTY]:
        bullets(plan.remarks[: len(NOTHING_YET)])
        return
    show_this_year(plan)
    for crop in plan.this_year:
        _why(crop)
    _later(plan)
    _helps(plan)
    heading("How sure")
    bullets([_proof(plan), *plan.remarks])
    told_sources(plan.sources)


def show_this_year(plan: SavingPlanAnswer) -> None:
    """What to sow for seed this year, what must not flower, and who is left exposed."""
    year = plan.on.year
    if plan.this_year:
        heading(f"Seed crops to sow in {year}, the rarest first")
        table(
            ("variety", "keepers", "lot", "sow", "flowers", "isolate by", "lost?", "if skipped"),
            [_row(crop) for crop in plan.this_year],
            numbers=2,
        )
        screen().print(f"lost?: chance that the variety is lost by {plan.judged_in}")
    else:
        heading(f"No seed crop needs sowing in {year}.")
    if plan.standing:
        heading("Standing from last year, to flower now")
        bullets(
            f"{name_of(one.variety)} at {one.site}, isolated by {_words(one.isolation.value)}"
            for one in plan.standing
        )
    if plan.stop_flowering:
        heading("Keep from flowering")
        bullets(
            f"{one.text} It would cross with {_list(one.endangers)}." for one in plan.stop_flowering
        )
    _exposed(plan.exposed)


def _row(crop: CropNowAnswer) -> Sequence[str]:
    sow = "sown" if crop.sow_lot is None else "all" if crop.seeds_to_sow is None else ""
    return (
        name_of(crop.variety),
        crop.other_keepers.value,
        crop.sow_lot or "",
        sow or str(crop.seeds_to_sow),
        str(crop.flowers_in),
        _words(crop.isolation.value),
        chance(crop.chance_of_loss),
        chance(crop.chance_of_loss_if_skipped),
    )


def _exposed(exposed: Sequence[ExposedAnswer]) -> None:
    if exposed:
        heading("Left exposed")
        bullets(
            f"{name_of(one.variety)}, {chance(one.chance_of_loss)} likely to be lost. {one.text} "
            f"{one.relief or ''}".strip()
            for one in exposed
        )


def _why(crop: CropNowAnswer) -> None:
    lot = f", lot {crop.sow_lot}" if crop.sow_lot else ""
    heading(f"{name_of(crop.variety)}{lot}, at {crop.site}")
    raised = f"Raise {crop.plants_to_raise} plants to keep {crop.seed_parents} seed parents."
    bullets([raised, *(reason.text for reason in crop.reasons)])


def _later(plan: SavingPlanAnswer) -> None:
    if plan.later:
        heading("The years after, as things stand")
        bullets(f"{year.year}: {_list(crop.variety for crop in year.sow)}." for year in plan.later)


def _helps(plan: SavingPlanAnswer) -> None:
    if plan.reliefs:
        heading("What would help")
        bullets(
            f"{one.text.removesuffix('.')}: {one.saves:.2f} less to lose"
            + (f", above all {_list(one.helps[:3])}." if one.helps else ".")
            for one in plan.reliefs
        )
    if plan.pins:
        heading("Your pins")
        bullets(f"{name_of(one.variety)} in {one.year}: {one.text}" for one in plan.pins)
    if plan.left_out:
        heading("Not planned for")
        bullets(f"{name_of(one.variety)}: {one.why}" for one in plan.left_out)


def _proof(plan: SavingPlanAnswer) -> str:
    return (
        f"Weighted by rarity, {plan.loss:.2f} varieties are likely to be lost by "
        f"{plan.judged_in}, {plan.loss_without:.2f} if nothing were saved; no plan is better by "
        f"more than {plan.gap_pct:.2f} %."
    )


def _list(varieties: Iterable[VarietyBrief]) -> str:
    names = [name_of(variety) for variety in varieties]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _words(isolation: str) -> str:
    return isolation.replace("-", " ")
