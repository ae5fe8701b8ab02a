"""Seed crops as they are answered, and what comes next of each."""

from collections.abc import Sequence
from datetime import date, timedelta

from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer
from seedbank.database.queries import Page, Paging
from seedbank.lots.tables.lots import Lot
from seedbank.saving.answers import GearBrief, SeedCropAnswer, Stage, StepAnswer
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs
from seedbank.saving.tables import (
    IsolationGear,
    SeedCrop,
    SeedCropFilter,
    find_seed_crop,
    find_seed_crops,
)
from seedbank.science.quantities import Finding

_SHOWN_OTHERWISE = {"variety_id", "lot_id", "site_id", "gear_id", "result_lot_id", "created_at"}


def list_seed_crops(
    session: Session, wanted: SeedCropFilter, paging: Paging
) -> Page[SeedCropAnswer]:
    """Seed crops by the year they flower. Raises BadValue: the cursor."""
    page = find_seed_crops(session, wanted, paging)
    return Page(answer_seed_crops(session, page.items), page.next)


def show_seed_crop(session: Session, number: int) -> SeedCropAnswer:
    """One seed crop. Raises NotThere."""
    return answer_seed_crop(session, find_seed_crop(session, number))


def answer_seed_crop(
    session: Session, crop: SeedCrop, *, warnings: Sequence[FindingAnswer] = ()
) -> SeedCropAnswer:
    """One seed crop as it is answered."""
    shown = answer_seed_crops(session, [crop])[0]
    return shown.model_copy(update={"warnings": list(warnings)})


def answer_seed_crops(session: Session, crops: Sequence[SeedCrop]) -> list[SeedCropAnswer]:
    """Seed crops as they are answered, in order."""
    varieties = variety_briefs(session, {crop.variety_id for crop in crops})
    sites = site_briefs(session, {crop.site_id for crop in crops})
    numbers = {n for crop in crops for n in (crop.lot_id, crop.result_lot_id) if n is not None}
    rows = session.exec(select(Lot.id, Lot.code).where(col(Lot.id).in_(numbers)))
    codes: dict[int | None, str] = dict(iter(rows))
    used = {crop.gear_id for crop in crops if crop.gear_id is not None}
    gear: dict[int | None, GearBrief] = {
        one.id: GearBrief.model_validate(one)
        for one in session.exec(select(IsolationGear).where(col(IsolationGear.id).in_(used)))
    }
    return [
        SeedCropAnswer(
            **crop.model_dump(exclude=_SHOWN_OTHERWISE),
            variety=varieties[crop.variety_id],
            lot=codes.get(crop.lot_id),
            site=sites[crop.site_id],
            stage=stage_of(crop),
            gear=gear.get(crop.gear_id),
            result_lot=codes.get(crop.result_lot_id),
            warnings=[],
        )
        for crop in crops
    ]


def stage_of(crop: SeedCrop) -> Stage:
    """How far a seed crop has come."""
    if crop.failed_on is not None:
        return Stage.FAILED
    if crop.harvested_on is not None:
        return Stage.HARVESTED
    return Stage.PLANNED if crop.sown_on is None else Stage.SOWN


_BEFORE_FLOWER_DAYS = 14  # to see to its isolation before the first flower; our choice


def next_step(crop: SeedCropAnswer, today: date) -> StepAnswer | None:
    """The next thing to do for a seed crop; None: it is over."""
    if crop.stage is Stage.PLANNED:
        return _sow(crop, today)
    if crop.stage is not Stage.SOWN:
        return None
    if crop.flower_year > today.year:
        found = Finding("crop-through-winter", {"year": crop.flower_year})
        return StepAnswer.of(found, due=None, pressing=False)
    if crop.flower_year < today.year:
        found = Finding("crop-past", {"year": crop.flower_year})
    elif crop.flower_to is not None and crop.flower_to <= today:
        found = Finding("crop-ripening")
    elif crop.flower_from is not None and crop.flower_from <= today:
        found = Finding("crop-in-flower")
    else:
        found = Finding("crop-before-flower", {"isolation": crop.isolation})
        due = crop.flower_from and crop.flower_from - timedelta(days=_BEFORE_FLOWER_DAYS)
        return StepAnswer.of(found, due=due, pressing=due is None or due <= today)
    return StepAnswer.of(found, due=None, pressing=True)


def _sow(crop: SeedCropAnswer, today: date) -> StepAnswer:
    if crop.sow_on is None:
        return StepAnswer.of(Finding("crop-not-sown"), due=None, pressing=True)
    ahead = (crop.sow_on - today).days
    found = Finding("crop-to-sow", {"ahead_days": ahead})
    if ahead < 0:
        found = Finding("crop-sow-late", {"late_days": -ahead})
    return StepAnswer.of(found, due=crop.sow_on, pressing=ahead <= 0)
