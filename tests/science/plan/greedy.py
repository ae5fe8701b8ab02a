"""What a gardener does without a plan: this season's crops, the oldest seed first.

The yardstick plans are held against. It keeps every limit, as a plan does, but looks at one season
and one variety at a time.

Outside check: its crops keep the limits counted crop by crop and pair by pair,
and never beat the plan.
"""

from collections.abc import Mapping

import numpy as np

from seedbank.science.plan.plan_columns import Columns, build_columns
from seedbank.science.plan.plan_problem import Crop, PlanProblem
from seedbank.science.plan.plan_search import Room
from seedbank.science.quantities import FloatArray


def oldest_first(problem: PlanProblem, age: Mapping[str, float]) -> dict[str, tuple[Crop, ...]]:
    """Crops to sow this season by variety: in order of ``age`` (seasons since seed was last saved),
    each takes the site and way with the least risk that still fits. Equals go by name."""
    return in_turn(problem, {name: -years for name, years in age.items()})


def weakest_first(problem: PlanProblem) -> dict[str, tuple[Crop, ...]]:
    """The same, the lots least likely to raise the seed parents next season first."""
    return in_turn(problem, {v.name: float(v.existing[1]) for v in problem.varieties})


def in_turn(problem: PlanProblem, rank: Mapping[str, float]) -> dict[str, tuple[Crop, ...]]:
    """Crops to sow this season by variety, the lowest ``rank`` first; what doesn't fit waits.

    Nothing is sown of a variety known to be lost.
    """
    ordered = problem.in_order()
    columns = build_columns(ordered)
    risk = _risk_this_season(columns)
    room = Room(columns, columns.start)
    living = [v for v, variety in enumerate(ordered.varieties) if variety.existing[0] > 0.0]
    for variety in sorted(living, key=lambda v: rank[ordered.varieties[v].name]):
        room.put(variety, room.best(variety, risk))
    chosen = [columns.column(int(number)) for number in room.chosen]
    return {column.variety: column.crops for column in chosen}


def _risk_this_season(columns: Columns) -> FloatArray:
    """Risk of each column's crop when it is one crop sown now, 1 for none, else out of question."""
    nothing = columns.options.variety.size
    season = np.append(columns.options.season, 0)
    failure = np.append(columns.options.failure, 1.0)
    single = (columns.crops[:, 1:] == nothing).all(axis=1)
    now = season[columns.crops[:, 0]] == 0
    return np.where(single & now, failure[columns.crops[:, 0]], np.inf)
