"""What must not flower this year, by the seed crops on record and the plan kept last.

Unlike ``plan_stops`` nothing is worked out anew, so that a page can ask for it at any time.
"""

from collections.abc import Sequence

from sqlmodel import Session

from seedbank.common.answers import VarietyBrief
from seedbank.database.cache import Kept
from seedbank.database.lanes import JUDGEMENTS
from seedbank.kinds.tables.varieties import OtherKeepers, Variety
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers.saving_plan import StopFloweringAnswer
from seedbank.plan.last_plan import KeptCrop, kept_crops, unbegun
from seedbank.plan.stock import PURPOSES
from seedbank.plan.stops import stops_beside
from seedbank.plan.tables.change_stamps import plan_stamp
from seedbank.plan.tables.plan_runs import latest_plan_run
from seedbank.saving.check_crossing import CropAsked, asked_of
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs
from seedbank.saving.gather_flowering import read_year
from seedbank.saving.tables.seed_crops import seed_crops_in
from seedbank.viability.tables.stock_columns import KEEPERS

_COVERED = frozenset({Isolation.CAGE, Isolation.BAG, Isolation.HAND_POLLINATION})
_KEPT: Kept[list[StopFloweringAnswer]] = Kept(4, lane=JUDGEMENTS)


def must_not_flower(session: Session, year: int) -> list[StopFloweringAnswer]:
    """What would cross with the year's seed crops in the open, the soonest first; kept in memory
    while nothing a plan rests on has changed."""
    return _KEPT.get(session, plan_stamp, lambda: _stops(session, year), asked=year)


def _stops(session: Session, year: int) -> list[StopFloweringAnswer]:
    asked = [asked_of(crop) for crop in seed_crops_in(session, year) if crop.is_open]
    planned = [one for one in kept_crops(latest_plan_run(session)) if one.flowers_in == year]
    asked += _planned(session, unbegun(session, planned))
    in_open = [one for one in asked if one.isolation not in _COVERED]
    whose = variety_briefs(session, {one.variety_id for one in in_open})
    crops: list[tuple[CropAsked, VarietyBrief]] = [
        (one, whose[one.variety_id]) for one in in_open if one.variety_id in whose
    ]
    if not crops:
        return []
    return stops_beside(read_year(session, year, [one.variety_id for one, _ in crops]), crops)


def _planned(session: Session, crops: Sequence[KeptCrop]) -> list[CropAsked]:
    """The plan's crops as the crossing check takes them, those on sites still there."""
    found = []
    sites = site_briefs(session, {one.site_id for one in crops if one.site_id is not None})
    for one in crops:
        variety = session.get(Variety, one.variety_id)
        if variety is None or one.site_id is None or one.site_id not in sites:
            continue
        keepers: OtherKeepers = variety.other_keepers
        found.append(
            CropAsked(
                variety_id=one.variety_id,
                site_id=one.site_id,
                year=one.flowers_in,
                purpose=PURPOSES[KEEPERS.index(keepers)],
                isolation=one.isolation,
            )
        )
    return found
