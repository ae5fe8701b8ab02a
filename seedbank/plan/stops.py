"""What to keep from flowering this year, since it would cross with the plan's open seed crops."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from seedbank.common.answers import VarietyBrief
from seedbank.database.find import row_id
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers.saving_plan import StopFloweringAnswer
from seedbank.plan.crops import variety_brief
from seedbank.plan.inputs import PlanInputs
from seedbank.saving.check_crossing import CropAsked, crossing_of
from seedbank.saving.gather_flowering import Year
from seedbank.science.crossing.crossing_advice import STOP_FLOWERING, no_day_to_cut
from seedbank.science.crossing.crossing_stands import Exposure, StandIs
from seedbank.science.plan.plan import Plan
from seedbank.science.plan.plan_problem import Crop, Standing


@dataclass(slots=True)
class _Stop:
    """``before`` None: no day is known, or none would end it."""

    exposure: Exposure
    before: date | None
    text: str
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
    seen: Year, crops: Sequence[tuple[CropAsked, VarietyBrief]]
) -> list[StopFloweringAnswer]:
    """What must not flower beside these crops of one year, the soonest first."""
    found: dict[tuple[str, bool], _Stop] = {}
    for asked, whose in crops:
        for exposure in crossing_of(seen, asked).risks:
            if exposure.stand.what is not StandIs.SEED_CROP:
                _note(found, seen.year, exposure, whose)
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
    found: dict[tuple[str, bool], _Stop], year: int, exposure: Exposure, whose: VarietyBrief
) -> None:
    mend = next((mend for mend in exposure.mends if mend.code == STOP_FLOWERING), None)
    text = no_day_to_cut(exposure) if mend is None else mend.text
    before = None if mend is None else _date(year, exposure, mend.before_day)
    key = exposure.stand.name, mend is None
    stop = found.setdefault(key, _Stop(exposure, before, text, []))
    if (before or date.min) < (stop.before or date.min):
        stop.before, stop.text = before, text
    if whose not in stop.endangers:
        stop.endangers.append(whose)


def _date(year: int, exposure: Exposure, day: int | None) -> date | None:
    """The day to cut before: in the year or, late in a window over New Year, in the next."""
    if day is None:
        return None
    window = exposure.stand.flowering
    next_year = window is not None and day < window.from_day
    return date(year + next_year, 1, 1) + timedelta(days=day - 1)


def _answer(stop: _Stop) -> StopFloweringAnswer:
    return StopFloweringAnswer(
        name=stop.exposure.stand.name,
        what=stop.exposure.stand.what,
        before=stop.before,
        text=stop.text,
        endangers=stop.endangers,
    )
