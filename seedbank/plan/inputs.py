"""The saving plan's question put together: stock, ground, and what is settled already."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from sqlmodel import Session, col, func, select

from seedbank.plan.calendar import (
    Settled,
    crops_on_record,
    pinned_varieties,
    settle_plan,
    stands_ahead,
)
from seedbank.plan.ground import (
    Ground,
    bed_m2,
    read_ground,
    requirement_of,
    ways_for,
    work_of,
)
from seedbank.plan.stock import PlanStock, StockedVariety, key_of, stock_for_plan
from seedbank.plan.tables import PlanRun
from seedbank.saving.gather_flowering import Year, group_of, read_year
from seedbank.saving.tables import SeedCrop
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.plan.plan_problem import Crop, PlanProblem, PlanVariety
from seedbank.science.quantities import FloatArray
from seedbank.science.saving.saving_survival import expected_failure
from seedbank.science.verdicts.line_decision import LINE_VALUE
from seedbank.science.verdicts.verdict import Keepers
from seedbank.verdicts.judge_lots import judge_collection

# Our choices, common practice, no single source: share of seed crops that give no seed, before the
# garden's own record, which they weigh against as so many crops. Lost crops go unrecorded more
# often than harvests, so no record brings the share under half the usual.
USUAL_FAILURE = (0.15, 0.25)  # sown and harvested in one season, or standing a winter
FAILURE_WORTH = 10.0
LEAST_FAILURE_SHARE = 0.5
NOT_WANTED = 0.1  # weight of a common variety nobody wants plants of, against one wanted
LEAST_WAITING = 0.01  # of the line: what putting a crop off that is due costs at least


@dataclass(frozen=True, slots=True)
class PlanInputs:
    """The problem, and what is needed to say its answer in words.

    ``varieties`` go by their key in the plan; ``sown_now`` are those of a crop sown this season.
    ``failure``: chance that a crop of one season, or one that stands a winter, fails.
    ``flowering`` is what flowers this year.
    """

    problem: PlanProblem
    year: int
    stock: PlanStock
    ground: Ground
    settled: Settled
    varieties: dict[str, StockedVariety]
    sown_now: frozenset[str]
    failure: tuple[float, float]
    flowering: Year


def gather_plan(session: Session, *, today: date, horizon: int) -> PlanInputs:
    """Read and judge everything a plan over ``horizon`` seasons depends on, this one first."""
    year = today.year
    crops = crops_on_record(session, year, horizon)
    growing = frozenset(crop.variety_id for crop in crops if crop.is_open)
    judged = judge_collection(session, today=today)
    stock = stock_for_plan(judged, horizon + 2, growing, pinned_varieties(session, year, horizon))
    by_number = {one.variety_id: one for one in stock.varieties}
    ground = read_ground(session)
    settled = settle_plan(session, year, horizon, by_number, crops, ground)
    failure = _failures(session)
    pinned = {pin.variety for pin in settled.pins if pin.wanted}
    sown_now = frozenset(
        key_of(crop.variety_id)
        for crop in crops
        if crop.is_open and _sown_in(crop, year, by_number)
    )
    planned = tuple(
        _plan_variety(one, ground, failure, one.key in pinned, one.key in sown_now)
        for one in stock.varieties
    )
    problem = PlanProblem(
        planned,
        ground.plan_sites,
        ground.limits,
        horizon,
        ground.gaps,
        stands_ahead(session, year, horizon + 1, by_number, ground),
        settled.pins,
        tuple(settled.standing),
    ).in_order()
    varieties = {one.key: one for one in stock.varieties}
    flowering = read_year(session, year, by_number)
    return PlanInputs(
        problem, year, stock, ground, settled, varieties, sown_now, failure, flowering
    )


def choices_of(run: PlanRun, inputs: PlanInputs) -> dict[str, tuple[Crop, ...]]:
    """The crops of a plan kept earlier, in this plan's seasons.

    What lies in the past, or is of a variety or site no longer there, is left out; a variety kept
    in the plan without any crop counts as known to it.
    """
    known: dict[str, list[Crop]] = {}
    for row in run.choices:
        key = key_of(int(row["variety_id"]))
        if key not in inputs.varieties:
            continue
        crops = known.setdefault(key, [])
        for crop in row["crops"]:
            season = int(crop["year"]) - inputs.year
            site = inputs.ground.name_of(crop["site_id"])
            if 0 <= season < inputs.problem.horizon and site is not None:
                crops.append(Crop(season, site, str(crop["way"])))
    return {key: tuple(sorted(crops)) for key, crops in known.items()}


def without_pin(inputs: PlanInputs, number: int) -> PlanProblem:
    """The problem as it would be without one of the gardener's pins."""
    own = [one for one in inputs.settled.own if one.row.id != number]
    settled = Settled(inputs.settled.crops, inputs.settled.standing, own)
    return replace(inputs.problem, pins=settled.pins)


def _sown_in(crop: SeedCrop, year: int, varieties: dict[int, StockedVariety]) -> bool:
    variety = varieties.get(crop.variety_id)
    if variety is None or crop.sown_on is None:
        return False
    return crop.flower_year - variety.lead + 1 == year


def _plan_variety(
    one: StockedVariety,
    ground: Ground,
    failure: tuple[float, float],
    pinned: bool,
    sown_now: bool,
) -> PlanVariety:
    existing = _with_sowing(one.existing) if sown_now else one.existing
    home = requirement_of(one, Purpose.HOME).distance_m
    distance = requirement_of(one).distance_m
    return PlanVariety(
        name=one.key,
        group=group_of(one.facts),
        existing=existing,
        fresh=one.fresh,
        weight=weight_of(one),
        failure=failure[one.lead - 1],
        ways=ways_for(one, ground),
        distance_m=distance,
        home_distance_m=home if home < distance else None,
        bed_m2=(bed_m2(one),) * one.lead,
        work=work_of(one.lead),
        gap=max(round(one.years_between), 2),
        most_crops=3 if pinned or one.due is not None else 0,
        due=None if sown_now else one.due,
        waiting=max(one.waiting, LEAST_WAITING),
    )


def weight_of(one: StockedVariety) -> float:
    """What losing a variety counts, by who else keeps it and whether anyone wants plants of it."""
    weight = float(LINE_VALUE[one.keepers])
    common = one.keepers == Keepers.MANY
    return weight * NOT_WANTED if common and one.wanted <= 0 else weight


def _with_sowing(existing: FloatArray) -> FloatArray:
    """Seed sown this season lives in the ground, whatever is left in the packet."""
    return np.concatenate([[1.0], existing[1:]])


def _failures(session: Session) -> tuple[float, float]:
    """Chance that a crop of one season, and one that stands a winter, gives no seed: the usual
    share, and the garden's own seed crops that ended."""
    ended = col(SeedCrop.failed_on).is_not(None) | col(SeedCrop.harvested_on).is_not(None)
    total, lost = session.exec(
        select(func.count(col(SeedCrop.id)), func.count(col(SeedCrop.failed_on))).where(ended)
    ).one()
    crops, failed = np.array([float(total)]), np.array([float(lost)])
    one, two = (
        max(
            float(expected_failure(crops, failed, usual, FAILURE_WORTH)[0]),
            LEAST_FAILURE_SHARE * usual,
        )
        for usual in USUAL_FAILURE
    )
    return one, two
