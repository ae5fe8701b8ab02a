"""Seed crops as they are answered, and what comes next of each."""

from collections.abc import Sequence
from datetime import date

from sqlmodel import Session, col, select

from seedbank.common.dates import days_words
from seedbank.database.queries import Cursor, Page
from seedbank.lots.tables.lots import Isolation, Lot
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

_SHOWN_OTHERWISE = {"variety_id", "lot_id", "site_id", "gear_id", "result_lot_id", "created_at"}


def list_seed_crops(
    session: Session, wanted: SeedCropFilter, *, after: Cursor | None, limit: int
) -> Page[SeedCropAnswer]:
    """Seed crops by the year they flower. Raises BadValue: the cursor."""
    page = find_seed_crops(session, wanted, after=after, limit=limit)
    return Page(answer_seed_crops(session, page.items), page.next)


def show_seed_crop(session: Session, number: int) -> SeedCropAnswer:
    """One seed crop. Raises NotThere."""
    return answer_seed_crop(session, find_seed_crop(session, number))


def answer_seed_crop(
    session: Session, crop: SeedCrop, *, warnings: Sequence[str] = ()
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


_SEE_TO_IT = {
    Isolation.DISTANCE: "keep what crosses with it from flowering within reach",
    Isolation.TIME: "see that nothing that crosses with it flowers at the same time",
    Isolation.CAGE: "put up its cage",
    Isolation.BAG: "bag its flowers",
    Isolation.HAND_POLLINATION: "close the flowers to be pollinated by hand",
    Isolation.ONLY_VARIETY: "see that no other variety of it flowers",
}
_UNSAID = "say how it is kept from crossing"


def next_step(crop: SeedCropAnswer, today: date) -> StepAnswer | None:
    """The next thing to do for a seed crop; None: it is over."""
    if crop.stage is Stage.PLANNED:
        return _sow(crop, today)
    if crop.stage is not Stage.SOWN:
        return None
    if crop.flower_year > today.year:
        text = f"Sown; it flowers in {crop.flower_year}. See the plants through the winter."
        return StepAnswer(text=text, due=None, pressing=False)
    if crop.flower_year < today.year:
        text = f"It flowered in {crop.flower_year}: record its harvest, or that it failed."
        return StepAnswer(text=text, due=None, pressing=True)
    return _through_the_summer(crop, today)


def _sow(crop: SeedCropAnswer, today: date) -> StepAnswer:
    if crop.sow_on is None:
        return StepAnswer(text="Planned and not sown yet.", due=None, pressing=True)
    ahead = (crop.sow_on - today).days
    if ahead > 0:
        text, pressing = f"To be sown in {days_words(ahead)}.", False
    elif ahead == 0:
        text, pressing = "To be sown today.", True
    else:
        text, pressing = f"It was to be sown {days_words(-ahead)} ago.", True
    return StepAnswer(text=text, due=crop.sow_on, pressing=pressing)


def _through_the_summer(crop: SeedCropAnswer, today: date) -> StepAnswer:
    if crop.flower_to is not None and crop.flower_to <= today:
        text = "Its flowering is over: harvest it as the seed ripens."
    elif crop.flower_from is not None and crop.flower_from <= today:
        text = "It is in flower: mind its isolation, and pull out what isn't true."
    else:
        mind = _SEE_TO_IT.get(crop.isolation, _UNSAID)
        text = (
            f"It flowers this year: before the first flower opens pull out untrue plants, {mind}."
        )
    return StepAnswer(text=text, due=None, pressing=True)
