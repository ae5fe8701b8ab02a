"""A saving plan on the screen: this year's list, what it asks besides, and the years after."""

from collections.abc import Iterable, Sequence

from seedbank.cli.screen import (
    bullets,
    chance,
    heading,
    name_of,
    screen,
    show_sources,
    table,
    words,
)
from seedbank.common.answers import VarietyBrief
from seedbank.database.queries import EMPTY, NOTHING_YET
from seedbank.plan.answers import CropNowAnswer, ExposedAnswer, SavingPlanAnswer
from seedbank.season.commands.lots_on_screen import seeds_word


def show_plan(plan: SavingPlanAnswer) -> None:
    """The whole plan, or that there is nothing to plan with."""
    if plan.remarks[0].code == EMPTY.code:
        bullets(one.text for one in plan.remarks[: len(NOTHING_YET)])
        return
    show_this_year(plan)
    for crop in plan.this_year:
        _why(crop)
    if plan.later:
        heading(words("plan-heading-later"))
        bullets(
            words("plan-later", year=year.year, varieties=_names(crop.variety for crop in year.sow))
            for year in plan.later
        )
    _helps(plan)
    heading(words("plan-heading-sure"))
    proof = words(
        "plan-proof",
        loss=plan.loss,
        year=plan.judged_in,
        loss_without=plan.loss_without,
        gap_pct=plan.gap_pct,
    )
    bullets([proof, *(one.text for one in plan.remarks)])
    show_sources(plan.sources)


def show_this_year(plan: SavingPlanAnswer) -> None:
    """What to sow for seed this year, what must not flower, and who is left exposed."""
    year = plan.on.year
    if plan.this_year:
        heading(words("plan-heading-sow", year=year))
        table(
            ("variety", "keepers", "lot", "sow", "flowers", "isolate-by", "lost", "if-skipped"),
            [_row(crop) for crop in plan.this_year],
            numbers=2,
        )
        screen().print(words("plan-lost-column", year=plan.judged_in))
    else:
        heading(words("plan-nothing-to-sow", year=year))
    if plan.standing:
        heading(words("plan-heading-standing"))
        bullets(
            words(
                "plan-standing",
                variety=name_of(one.variety),
                site=one.site,
                isolation=_isolation(one.isolation.value),
            )
            for one in plan.standing
        )
    if plan.stop_flowering:
        heading(words("plan-heading-stops"))
        bullets(
            words("would-cross-with", stop=one.text, varieties=_names(one.endangers))
            for one in plan.stop_flowering
        )
    _exposed(plan.exposed)


def _row(crop: CropNowAnswer) -> Sequence[str]:
    sow = "sown" if crop.sow_lot is None else seeds_word(crop.seeds_to_sow, crop.seeds_to_hold)
    return (
        name_of(crop.variety),
        words("keepers-number", keepers=crop.other_keepers.value),
        crop.sow_lot or "",
        words("to-sow", sow=sow, seeds=crop.seeds_to_sow or 0),
        str(crop.flowers_in),
        _isolation(crop.isolation.value),
        chance(crop.chance_of_loss),
        chance(crop.chance_of_loss_if_skipped),
    )


def _exposed(exposed: Sequence[ExposedAnswer]) -> None:
    if exposed:
        heading(words("plan-heading-exposed"))
        bullets(
            words(
                "plan-exposed",
                variety=name_of(one.variety),
                loss=one.chance_of_loss,
                why=one.text,
                relief=one.relief.text if one.relief else "",
            ).rstrip()
            for one in exposed
        )


def _why(crop: CropNowAnswer) -> None:
    at = {"variety": name_of(crop.variety), "lot": crop.sow_lot or "none", "site": crop.site}
    heading(words("plan-heading-crop", **at))
    raised = words("plan-raise", plants=crop.plants_to_raise, parents=crop.seed_parents)
    bullets([raised, *(reason.text for reason in crop.reasons)])


def _helps(plan: SavingPlanAnswer) -> None:
    if plan.reliefs:
        heading(words("plan-heading-help"))
        bullets(
            words(
                "relief-saves",
                **one.numbers,
                **one.names,
                saves=one.saves,
                helps=_names(one.helps[:3]),
                helps_number=len(one.helps),
            )
            for one in plan.reliefs
        )
    if plan.pins:
        heading(words("plan-heading-pins"))
        bullets(
            words("plan-pin", variety=name_of(one.variety), year=one.year, found=one.text)
            for one in plan.pins
        )
    if plan.left_out:
        heading(words("plan-heading-left-out"))
        bullets(f"{name_of(one.variety)}: {one.why.text}" for one in plan.left_out)


def _names(varieties: Iterable[VarietyBrief]) -> tuple[str, ...]:
    return tuple(name_of(variety) for variety in varieties)


def _isolation(way: str) -> str:
    return words("isolation-way", way=way)
