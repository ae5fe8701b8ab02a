"""A saving plan as it was kept."""

from sqlmodel import Session

from seedbank.common.errors import NotThere
from seedbank.database.find import row_id
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers.saving_plan import KeptCropAnswer, KeptPlanAnswer
from seedbank.plan.ground import ASSUMED_SITE
from seedbank.plan.tables.plan_runs import PlanRun
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs

_GONE = "a site no longer there"


def show_saving_plan(session: Session, number: int) -> KeptPlanAnswer:
    """The plan with this number, crops of varieties no longer there left out. Raises NotThere."""
    run = session.get(PlanRun, number)
    if run is None:
        raise NotThere("saving plan", number, field="id")
    planned = [(int(row["variety_id"]), crop) for row in run.choices for crop in row["crops"]]
    varieties = variety_briefs(session, {variety for variety, _ in planned})
    sites = site_briefs(session, {crop["site_id"] for _, crop in planned})
    crops = []
    for variety, crop in planned:
        if variety in varieties:
            site = sites.get(crop["site_id"])
            crops.append(
                KeptCropAnswer(
                    variety=varieties[variety],
                    sow_in=crop["year"],
                    flowers_in=crop["flowers_in"],
                    site=site.name if site else _GONE if crop["site_id"] else ASSUMED_SITE,
                    isolation=Isolation(crop["way"]),
                )
            )
    return KeptPlanAnswer(
        id=row_id(run.id),
        made_at=run.created_at,
        first_year=run.first_year,
        horizon_years=run.horizon_years,
        crops=sorted(crops, key=lambda one: (one.sow_in, one.variety.id)),
    )
