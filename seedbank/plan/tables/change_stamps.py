"""What changes whenever anything has changed that a saving plan rests on."""

from collections.abc import Iterator

from sqlalchemy import Subquery, func, select
from sqlmodel import Session, col

from seedbank.database.change_stamps import Stamp, edited, stamp_of, weighed
from seedbank.plan.tables.plan_pins import PlanPin
from seedbank.plan.tables.plan_runs import PlanRun
from seedbank.saving.tables.flowering import Flowering, FloweringWindow
from seedbank.saving.tables.garden_limits import GardenLimits
from seedbank.saving.tables.isolation_gear import IsolationGear
from seedbank.saving.tables.seed_crops import SeedCrop
from seedbank.saving.tables.sites import Site, SiteDistance
from seedbank.sowing.tables.change_stamps import sown
from seedbank.viability.tables.change_stamps import alive, amounts, open_tests


def plan_stamp(session: Session) -> Stamp:
    """Changes with anything a saving plan rests on, what is sown among it."""
    return stamp_of(session, alive, open_tests, amounts, sown, _saving)


def _saving() -> Iterator[Subquery]:
    for table in (Site, IsolationGear, GardenLimits, PlanPin):
        yield from edited(table)
    yield from edited(Flowering, col(Flowering.year))
    yield from edited(SeedCrop, col(SeedCrop.lot_id))
    # A distance has no number of its own; whoever sets one raises its sites' versions.
    pairs = select(func.count(), func.sum(col(SiteDistance.metres))).select_from(SiteDistance)
    yield pairs.subquery()
    window = (col(FloweringWindow.from_day), col(FloweringWindow.to_day))
    yield from weighed(FloweringWindow, *window, col(FloweringWindow.kind_id))
    yield from weighed(PlanRun, col(PlanRun.first_year), last=PlanRun.created_at)
