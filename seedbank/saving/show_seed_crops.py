"""Seed crops as they are answered, and what comes next of each."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer
from seedbank.database.queries import Page, Paging
from seedbank.lots.tables.lots import Lot
from seedbank.saving.answers import GearBrief, SeedCropAnswer, Stage, StepAnswer
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs
from seedbank.saving.gather_flowering import read_year
from seedbank.saving.tables import (
    IsolationGear,
    SeedCrop,
    SeedCropFilter,
    find_seed_crop,
    find_seed_crops,
)
from seedbank.science.crossing.flowering_days import DayWindow
from seedbank.science.quantities import Finding
from seedbank.science.season.window_state import date_of

_SHOWN_OTHERWISE = {"variety_id", "lot_id", "site_id", "gear_id", "result_lot_id", "created_at"}
_MOST_OPEN = 500


def list_seed_crops(
    session: Session, wanted: SeedCropFilter, paging: Paging
) -> Page[SeedCropAnswer]:
    """Seed crops by the year they flower. Raises BadValue: the cursor."""
    page = find_seed_crops(session, wanted, paging)
    return Page(answer_seed_crops(session, page.items), page.next)


def open_seed_crops(
    session: Session, *, today: date
) -> Iterator[tuple[SeedCropAnswer, StepAnswer]]:
    """Seed crops neither harvested nor lost, each with the next thing to do for it."""
    crops = list_seed_crops(session, SeedCropFilter(open=True), Paging(_MOST_OPEN)).items
    for crop, step in zip(crops, next_steps(session, crops, today), strict=True):
        if step is not None:
            yield crop, step


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


def _flowered(crop: SeedCropAnswer, usual: DayWindow | None, today: date) -> bool:
    """Whether its flowering is over, as it was seen or, if never seen, as is usual."""
    if crop.flower_to is not None:
        return crop.flower_to <= today
    if crop.flower_from is not None or usual is None or usual.to_day < usual.from_day:
        return False
    return date_of(usual.to_day, crop.flower_year) < today


_BEFORE_FLOWER_DAYS = 14  # to see to its isolation before the first flower; our choice


def _usual_flowering(session: Session, crops: Sequence[SeedCropAnswer]) -> dict[int, DayWindow]:
    """When each crop's kind usually flowers there, by the crop's number, where that is known and
    no flower was seen."""
    days: dict[int, DayWindow] = {}
    for year in {crop.flower_year for crop in crops}:
        mine = [one for one in crops if one.flower_year == year and one.flower_from is None]
        usual = read_year(session, year, {one.variety.id for one in mine})
        for one in mine:
            window = usual.window(usual.varieties[one.variety.id].kind_id, one.site.id)
            if window is not None:
                days[one.id] = window.value
    return days


def next_steps(
    session: Session, crops: Sequence[SeedCropAnswer], today: date
) -> list[StepAnswer | None]:
    """The next thing to do for each seed crop; None: it is over."""
    usual = _usual_flowering(session, [one for one in crops if one.stage is Stage.SOWN])
    return [_next_step(one, today, usual.get(one.id)) for one in crops]


def _next_step(crop: SeedCropAnswer, today: date, usual: DayWindow | None) -> StepAnswer | None:
    if crop.stage is Stage.PLANNED:
        return _sow(crop, today)
    if crop.stage is not Stage.SOWN:
        return None
    if crop.flower_year > today.year:
        found = Finding("crop-through-winter", {"year": crop.flower_year})
        return StepAnswer.of(found, due=None, pressing=False)
    if crop.flower_year < today.year:
        found = Finding("crop-past", {"year": crop.flower_year})
    elif _flowered(crop, usual, today):
        found = Finding("crop-ripening")
    elif crop.flower_from is not None and crop.flower_from <= today:
        found = Finding("crop-in-flower")
    else:
        found = Finding("crop-before-flower", {"isolation": crop.isolation})
        opens = crop.flower_from
        if opens is None and usual is not None:
            opens = date_of(usual.from_day, crop.flower_year)
        due = None if opens is None else opens - timedelta(days=_BEFORE_FLOWER_DAYS)
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
