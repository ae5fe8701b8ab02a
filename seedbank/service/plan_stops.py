"""What to keep from flowering this year, since it would cross with the plan's open seed crops."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session

from seedbank.science.crossing_stands import Exposure, StandIs
from seedbank.science.plan import Plan
from seedbank.science.plan_problem import Crop, Standing
from seedbank.service.answers.lots import VarietyBrief
from seedbank.service.answers.saving_plan import StopFloweringAnswer
from seedbank.service.check_crossing import CropAsked, crossing_of
from seedbank.service.find import row_id
from seedbank.service.gather_flowering import read_year
from seedbank.service.plan_crops import variety_brief
from seedbank.service.plan_inputs import PlanInputs
from seedbank.stock.lots import Isolation

_STOP = "stop-flowering"


@dataclass(slots=True)
class _Stop:
    exposure: Exposure
    before_day: int | None
    text: str
    endangers: list[VarietyBrief]


def stops_this_year(session: Session, inputs: PlanInputs, plan: Plan) -> list[StopFloweringAnswer]:
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
    return stops_beside(session, inputs.year, asked)


def stops_beside(
    session: Session, year: int, crops: Sequence[tuple[CropAsked, VarietyBrief]]
) -> list[StopFloweringAnswer]:
    """What must not flower beside these crops of one year, the soonest first."""
    found: dict[str, _Stop] = {}
    seen = read_year(session, year, [asked.variety_id for asked, _ in crops])
    for asked, whose in crops:
        for exposure in crossing_of(seen, asked).risks:
            if exposure.stand.what is not StandIs.SEED_CROP:
                _note(found, exposure, whose)
    answers = [_answer(year, stop) for stop in found.values()]
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


def _note(found: dict[str, _Stop], exposure: Exposure, whose: VarietyBrief) -> None:
    mend = next(mend for mend in exposure.mends if mend.code == _STOP)
    stop = found.setdefault(exposure.stand.name, _Stop(exposure, mend.before_day, mend.text, []))
    sooner = (mend.before_day or 0) < (stop.before_day or 0)
    if sooner:
        stop.before_day, stop.text = mend.before_day, mend.text
    if whose not in stop.endangers:
        stop.endangers.append(whose)


def _answer(year: int, stop: _Stop) -> StopFloweringAnswer:
    day = stop.before_day
    return StopFloweringAnswer(
        name=stop.exposure.stand.name,
        what=stop.exposure.stand.what,
        before=None if day is None else date(year, 1, 1) + timedelta(days=day - 1),
        text=stop.text,
        endangers=stop.endangers,
    )
