"""The plan kept last: what it says for a year, and whether the stock has changed since.

Nothing here works a plan out: pages that must answer at once read what was kept.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session, SQLModel, col, func, select

from seedbank.database.cache import Kept, Stamp
from seedbank.database.find import row_id
from seedbank.germination.tables import GerminationTest
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import Isolation, Lot
from seedbank.plan.answers import PlanStandingAnswer
from seedbank.plan.tables import PlanRun, latest_plan_run
from seedbank.saving.tables import SeedCrop
from seedbank.sowing.tables import Emergence, Sowing
from seedbank.viability.tables.change_stamps import judged_stamp

_ENTRIES: tuple[tuple[type[SQLModel], Any], ...] = (
    (Lot, Lot.created_at),
    (Movement, Movement.recorded_at),
    (GerminationTest, GerminationTest.created_at),
    (Sowing, Sowing.created_at),
    (Emergence, Emergence.recorded_at),
)
_MADE: Kept[Stamp] = Kept()


@dataclass(frozen=True, slots=True)
class KeptCrop:
    """A seed crop of the kept plan; ``site_id`` None: the site it assumed."""

    variety_id: int
    sow_in: int
    flowers_in: int
    site_id: int | None
    isolation: Isolation


def plan_standing(session: Session) -> PlanStandingAnswer | None:
    """The plan kept last and whether it is older than what was recorded last; None: none."""
    run = latest_plan_run(session)
    if run is None:
        return None
    return PlanStandingAnswer(
        id=row_id(run.id),
        made_at=run.created_at,
        first_year=run.first_year,
        stock_changed=_changed_since(session, run),
    )


def note_plan_made(session: Session, number: int) -> None:
    """Remember the stock as it was when this plan was kept."""
    _MADE.get(session, lambda _: (number,), lambda: judged_stamp(session))


def _changed_since(session: Session, run: PlanRun) -> bool:
    """By the stock as it is remembered; once forgotten, by the moment of the last entry."""
    made = _MADE.last(session)
    if made is not None and made[0] == (run.id,):
        return made[1] != judged_stamp(session)
    last = _last_entry(session)
    return last is not None and last > run.created_at


def kept_crops(run: PlanRun | None) -> list[KeptCrop]:
    """The seed crops of a kept plan, by year of sowing."""
    if run is None:
        return []
    found = [
        KeptCrop(
            variety_id=int(row["variety_id"]),
            sow_in=int(crop["year"]),
            flowers_in=int(crop["flowers_in"]),
            site_id=crop["site_id"],
            isolation=Isolation(crop["way"]),
        )
        for row in run.choices
        for crop in row["crops"]
    ]
    return sorted(found, key=lambda one: (one.sow_in, one.variety_id))


def unbegun(session: Session, crops: Iterable[KeptCrop]) -> list[KeptCrop]:
    """Those with no seed crop on record, not even one that is over."""
    crops = list(crops)
    years = {one.flowers_in for one in crops}
    query = select(SeedCrop.variety_id, SeedCrop.flower_year).where(
        col(SeedCrop.flower_year).in_(years)
    )
    begun = {(variety, year) for variety, year in session.exec(query)}
    return [one for one in crops if (one.variety_id, one.flowers_in) not in begun]


def _last_entry(session: Session) -> datetime | None:
    """When anything the plan rests on was last put on record."""
    moments = select(
        *(
            select(func.max(col(when))).select_from(table).scalar_subquery()
            for table, when in _ENTRIES
        )
    )
    return max((when for when in session.exec(moments).one() if when is not None), default=None)
