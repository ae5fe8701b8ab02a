"""A seed crop harvested: its seed becomes a lot, with its line and its purity."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.dates import happened, in_order
from seedbank.common.doubts import Doubt, ask
from seedbank.common.errors import Conflict, Refused
from seedbank.database.editing import touch
from seedbank.database.find import row_id
from seedbank.database.transaction import transaction
from seedbank.lots.forms.lots import LotCreate
from seedbank.lots.forms.movements import FirstAmount
from seedbank.lots.tables.lots import Lot, Origin, Purity, find_lot, get_lot
from seedbank.lots.take_in_lots import take_in_lot
from seedbank.saving.answers.seed_crops import HarvestAnswer
from seedbank.saving.check_crossing import asked_of, crossing_of, purity_of
from seedbank.saving.doubts import ripe_too_soon
from seedbank.saving.forms.seed_crops import SeedCropHarvest
from seedbank.saving.gather_flowering import Year, read_year
from seedbank.saving.grow_seed_crops import check_parents, open_crop
from seedbank.saving.show_seed_crops import answer_seed_crop
from seedbank.saving.tables.seed_crops import SeedCrop

_LONGEST_NOTE = 400


def harvest_seed_crop(
    session: Session, number: int, form: SeedCropHarvest, *, today: date, now: datetime
) -> HarvestAnswer:
    """Harvest a seed crop: its seed becomes a lot of the parent lot's next generation.

    The lot's purity is what the crossing check says on the day of harvest. Raises NotThere,
    Conflict: it is over, or not sown yet. Refused: no parents kept, more than started, a day still
    to come or before it was sown or in flower, no such place, or grams of seed whose weight nobody
    knows. Doubted: before its seed can well be ripe.
    """
    with transaction(session):
        crop = open_crop(session, number)
        touch(session, crop)
        day = happened(form.harvested_on, field="harvested_on", today=today)
        if crop.sown_on is None:
            raise Conflict(
                "This seed crop is planned and not sown yet.",
                field="sown_on",
                mend="Record the day it was sown first, in the past or today, and harvest it then.",
            )
        check_harvest_day(crop, day)
        if form.parents_kept is not None:
            crop.parents_kept = form.parents_kept
        if crop.parents_kept == 0:
            raise Refused(
                "parents_kept", 0, "Say how many plants gave seed, or that the crop failed."
            )
        check_parents(crop)
        crop.cleaning, crop.drying = form.cleaning or crop.cleaning, form.drying or crop.drying
        parent = None if crop.lot_id is None else get_lot(session, crop.lot_id)
        seen = read_year(session, crop.flower_year, [crop.variety_id])
        purity, note = _purity(seen, crop, parent)
        lot = take_in_lot(
            session,
            LotCreate(
                variety_id=crop.variety_id,
                amount=FirstAmount.model_validate(form.amount.model_dump()),
                origin=Origin.SELF_SAVED,
                harvest_date=day,
                acquired_on=day,
                generation=_generation(parent),
                seed_parents=crop.parents_kept,
                isolation=crop.isolation,
                purity=purity,
                purity_note=note,
                thousand_seed_weight_g=form.thousand_seed_weight_g,
                thousand_seed_weight_se_g=form.thousand_seed_weight_se_g,
                parents=[] if parent is None else [parent.code],
                place_id=form.place_id,
                notes=form.notes,
            ),
            today=today,
            now=now,
        )
        crop.harvested_on, crop.result_lot_id = day, row_id(find_lot(session, lot.code).id)
        session.add(crop)
        session.flush()
        ask(_doubts(seen, crop, day), confirmed=form.confirmed)
        return HarvestAnswer(seed_crop=answer_seed_crop(session, crop), lot=lot)


def check_harvest_day(crop: SeedCrop, day: date) -> None:
    """Raises Refused: before the crop was sown, or before it flowered as is on record."""
    in_order(crop.sown_on, day, field="harvested_on", mend="Give a day after the sowing.")
    mend = "Mend this day, or the day the first flower was seen."
    in_order(crop.flower_from, day, field="harvested_on", mend=mend)
    mend = "Mend this day, or the year it flowers."
    in_order(date(crop.flower_year - 1, 7, 1), day, field="harvested_on", mend=mend)


def _doubts(seen: Year, crop: SeedCrop, day: date) -> Iterable[Doubt]:
    kind_id = seen.varieties[crop.variety_id].kind_id
    flowers = seen.window(kind_id, crop.site_id)
    return ripe_too_soon(seen.facts[kind_id], crop, flowers, day)


def _generation(parent: Lot | None) -> int | None:
    """One more than the parent's; seed from elsewhere whose count nobody knows starts at 0."""
    if parent is None:
        return None
    if parent.generation is None:
        return None if parent.origin is Origin.SELF_SAVED else 1
    return parent.generation + 1


def _purity(seen: Year, crop: SeedCrop, parent: Lot | None) -> tuple[Purity, str]:
    """As the crossing check says; what may have crossed once doesn't come true by isolation."""
    asked = asked_of(crop)
    purity, note = purity_of(crossing_of(seen, asked), asked)
    if parent is None or parent.purity is not Purity.RISK:
        return purity, note
    inherited = f"Its parent lot {parent.code} ran a risk of crossing. {note}"
    return Purity.RISK, inherited[:_LONGEST_NOTE]
