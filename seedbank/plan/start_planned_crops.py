"""A seed crop begun as the plan kept last has it: one word from the gardener is enough."""

from datetime import date, datetime

import numpy as np
from sqlmodel import Session

from seedbank.common.errors import Conflict, NotThere, Refused
from seedbank.database.transaction import transaction
from seedbank.kinds.tables.varieties import find_variety
from seedbank.plan.last_plan import KeptCrop, kept_crops, unbegun
from seedbank.plan.stock import PURPOSES
from seedbank.plan.tables.plan_runs import latest_plan_run
from seedbank.saving.answers.seed_crops import SeedCropAnswer
from seedbank.saving.forms.seed_crops import PlannedCropStart, SeedCropCreate
from seedbank.saving.grow_seed_crops import start_seed_crop
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.viability.tables.stock_columns import KEEPERS


def start_planned_crop(
    session: Session, form: PlannedCropStart, *, today: date, now: datetime
) -> SeedCropAnswer:
    """Begin the record of a crop of the kept plan, from the lot that is the variety's best hope.

    Raises NotThere: no such variety, or the plan has no such crop. Conflict: one is on record for
    that year already. Refused: the plan was made without any site.
    """
    with transaction(session):
        variety = find_variety(session, form.variety_id)
        crop = _planned(session, form)
        if crop.site_id is None:
            mend = "Add the site it is to grow on, then make the plan anew."
            raise Refused("site_id", None, mend, "The plan was made before any site was on record.")
        if not unbegun(session, [crop]):
            raise Conflict(
                f"{variety.name} is on record as a seed crop of {crop.flowers_in} already.",
                field="variety_id",
                value=form.variety_id,
                mend="Carry on with that one.",
            )
        wanted = SeedCropCreate(
            variety_id=form.variety_id,
            lot=_best_lot(judge_collection(session, today=today), form.variety_id),
            site_id=crop.site_id,
            flower_year=crop.flowers_in,
            purpose=PURPOSES[KEEPERS.index(variety.other_keepers)],
            isolation=crop.isolation,
        )
        return start_seed_crop(session, wanted, today=today, now=now)


def _planned(session: Session, form: PlannedCropStart) -> KeptCrop:
    for crop in kept_crops(latest_plan_run(session)):
        if (crop.variety_id, crop.flowers_in) == (form.variety_id, form.flower_year):
            return crop
    raise NotThere("planned seed crop", form.variety_id, field="variety_id")


def _best_lot(seen: Judgement, variety_id: int) -> str | None:
    """Code of the lot likeliest to raise the seed parents; None: none holds seed."""
    lots, inputs = seen.forecast.collection, seen.verdicts.inputs
    at = np.flatnonzero((lots.variety_id == variety_id) & inputs.is_best_lot & (lots.balance > 0))
    return lots.code[int(at[0])] if at.size else None
