"""What to keep from flowering this year, since it would cross with open or planned seed crops.

For the plan being made it is worked out; for a page it is told of the seed crops on record and
the plan kept last.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session

from seedbank.common.answers import VarietyBrief
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes
from seedbank.database.find import row_id
from seedbank.database.lanes import JUDGEMENTS
from seedbank.kinds.tables import OtherKeepers, Variety
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers import StopFloweringAnswer
from seedbank.plan.crops import variety_brief
from seedbank.plan.inputs import PlanInputs
from seedbank.plan.last_plan import LastPlanCrop, last_plan_crops, unbegun
from seedbank.plan.stock import PURPOSES
from seedbank.plan.tables import PLANNED, latest_plan_run
from seedbank.saving.check_crossing import CropAsked, asked_of, crossing_of
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs
from seedbank.saving.gather_flowering import Year, read_year
from seedbank.saving.tables import seed_crops_in
from seedbank.science.crossing.crossing_advice import STOP_FLOWERING, no_day_to_cut
from seedbank.science.crossing.crossing_stands import Exposure, StandIs
from seedbank.science.plan.plan import Plan
from seedbank.science.plan.plan_problem import Crop, Standing
from seedbank.science.quantities import Finding
from seedbank.viability.tables.stock_columns import KEEPERS


@dataclass(slots=True)
class _Stop:
    """``before`` None: no day is known, or none would end it."""

    exposure: Exposure
    before: date | None
    found: Finding
    endangers: list[VarietyBrief]


def stops_this_year(inputs: PlanInputs, plan: Plan) -> list[StopFloweringAnswer]:
    """What must not flower beside this year's crops in the open, the soonest first."""
    asked = []
    for key, site in _open_now(inputs, plan):
        one, row = inputs.varieties[key], inputs.ground.sites[site]
        if row is None:
            continue
        crop = CropAsked(
            variety_id=one.variety_id,
            site_id=row_id(row.id),
            year=inputs.year,
            purpose=one.purpose,
            isolation=Isolation.DISTANCE,
        )
        asked.append((crop, variety_brief(one)))
    return stops_beside(inputs.flowering, asked)


def stops_beside(
    flowering: Year, crops: Sequence[tuple[CropAsked, VarietyBrief]]
) -> list[StopFloweringAnswer]:
    """What must not flower beside these crops of one year, the soonest first."""
    found: dict[tuple[str, bool], _Stop] = {}
    for asked, whose in crops:
        for exposure in crossing_of(flowering, asked).risks:
            if exposure.stand.what is not StandIs.SEED_CROP:
                _note(found, flowering.year, exposure, whose)
    answers = [_answer(stop) for stop in found.values()]
    return sorted(answers, key=lambda one: (one.before or date.max, one.name))


def _open_now(inputs: PlanInputs, plan: Plan) -> Iterator[tuple[str, str]]:
    """Variety and site of every crop that flowers this year in the open."""
    ways = {v.name: {w.name: w for w in v.ways} for v in inputs.problem.varieties}
    standing: list[tuple[str, Standing | Crop]] = [(c.variety, c) for c in inputs.problem.standing]
    planned = [(column.variety, crop) for column in plan.columns for crop in column.crops]
    for key, crop in [*standing, *planned]:
        flowers = crop.season + inputs.varieties[key].lead - 1
        if flowers == 0 and ways[key][crop.way].open_air:
            yield key, crop.site


def _note(
    stops: dict[tuple[str, bool], _Stop], year: int, exposure: Exposure, whose: VarietyBrief
) -> None:
    mend = next((mend for mend in exposure.mends if mend.code == STOP_FLOWERING), None)
    found = mend or no_day_to_cut(exposure)
    if found is None:
        return
    before = None if mend is None else _date(year, exposure, mend.numbers.get("before_day"))
    stop = stops.setdefault((exposure.stand.name, mend is None), _Stop(exposure, before, found, []))
    if (before or date.min) < (stop.before or date.min):
        stop.before, stop.found = before, found
    if whose not in stop.endangers:
        stop.endangers.append(whose)


def _date(year: int, exposure: Exposure, day: float | None) -> date | None:
    """The day to cut before: in the year or, late in a window over New Year, in the next."""
    if day is None:
        return None
    window = exposure.stand.flowering
    next_year = window is not None and day < window.from_day
    return date(year + next_year, 1, 1) + timedelta(days=day - 1)


def _answer(stop: _Stop) -> StopFloweringAnswer:
    return StopFloweringAnswer.of(
        stop.found,
        name=stop.exposure.stand.name,
        what=stop.exposure.stand.what,
        before=stop.before,
        endangers=stop.endangers,
    )


_COVERED = frozenset({Isolation.CAGE, Isolation.BAG, Isolation.HAND_POLLINATION})
_OF_YEARS: CacheRegion[list[StopFloweringAnswer]] = CacheRegion(4, JUDGEMENTS)


def must_not_flower(session: Session, year: int) -> list[StopFloweringAnswer]:
    """What would cross with the year's seed crops in the open, the soonest first; kept in memory
    while nothing a plan rests on has changed."""
    state = changes(session, PLANNED)
    return _OF_YEARS.get(session, state, lambda: _stops(session, year), asked=year)


def _stops(session: Session, year: int) -> list[StopFloweringAnswer]:
    asked = [asked_of(crop) for crop in seed_crops_in(session, year) if crop.is_open]
    planned = [one for one in last_plan_crops(latest_plan_run(session)) if one.flowers_in == year]
    asked += _planned(session, unbegun(session, planned))
    in_open = [one for one in asked if one.isolation not in _COVERED]
    whose = variety_briefs(session, {one.variety_id for one in in_open})
    crops: list[tuple[CropAsked, VarietyBrief]] = [
        (one, whose[one.variety_id]) for one in in_open if one.variety_id in whose
    ]
    if not crops:
        return []
    return stops_beside(read_year(session, year, [one.variety_id for one, _ in crops]), crops)


def _planned(session: Session, crops: Sequence[LastPlanCrop]) -> list[CropAsked]:
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
