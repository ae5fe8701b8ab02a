"""The plan kept last: what it says for a year, and whether the stock has changed since.

Nothing here works a plan out: pages that must answer at once read what was kept.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

from sqlmodel import Session, SQLModel, col, select

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes, topics_of
from seedbank.database.find import row_id
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers import PlanStandingAnswer
from seedbank.plan.tables import PlanRun, latest_plan_run
from seedbank.saving.tables import SeedCrop
from seedbank.viability.tables.change_topics import ALIVE, JUDGED

_RESTS_ON = (*ALIVE, *topics_of(Movement))
_NOT_JUDGED = ("version", "notes", "note")
_DIGEST: CacheRegion[str] = CacheRegion()


@dataclass(frozen=True, slots=True)
class LastPlanCrop:
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
        stock_changed=run.made_of != stock_digest(session),
    )


def stock_digest(session: Session) -> str:
    """A digest of what is on record of lots, tests, stores and amounts: what a plan is made of.

    SHA-256, the same on every engine, and after a restart, a restore or an archive read again.
    """

    def work() -> str:
        digest = sha256()
        for table in _RESTS_ON:
            rows = SQLModel.metadata.tables[table]
            asked = [one for one in rows.columns if one.name not in _NOT_JUDGED]
            names = [one.name for one in asked]
            query = rows.select().with_only_columns(*asked).order_by(*rows.primary_key)
            for row in session.execute(query):
                known = zip(names, row, strict=True)
                values = [f"{name}={value}" for name, value in known if value is not None]
                digest.update(repr((table, values)).encode())
        return digest.hexdigest()

    return _DIGEST.get(session, changes(session, JUDGED), work)


def last_plan_crops(run: PlanRun | None) -> list[LastPlanCrop]:
    """The seed crops of a kept plan, by year of sowing."""
    if run is None:
        return []
    found = [
        LastPlanCrop(
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


def unbegun(session: Session, crops: Iterable[LastPlanCrop]) -> list[LastPlanCrop]:
    """Those with no seed crop on record, not even one that is over."""
    crops = list(crops)
    years = {one.flowers_in for one in crops}
    query = select(SeedCrop.variety_id, SeedCrop.flower_year).where(
        col(SeedCrop.flower_year).in_(years)
    )
    begun = {(variety, year) for variety, year in session.exec(query)}
    return [one for one in crops if (one.variety_id, one.flowers_in) not in begun]
