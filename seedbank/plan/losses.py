"""What becomes of one variety if its seed crops were others than planned."""

from collections.abc import Sequence
from dataclasses import replace

from seedbank.science.plan.plan_columns import build_columns
from seedbank.science.plan.plan_problem import Crop, PlanProblem, PlanVariety


def loss_of(problem: PlanProblem, name: str, crops: Sequence[Crop]) -> float | None:
    """Chance (0..1) that a variety is lost with just these seed crops; None if they can't be."""
    alone = replace(
        problem,
        varieties=tuple(
            replace(v, most_crops=max(v.most_crops, len(crops)))
            for v in problem.varieties
            if v.name == name
        ),
        pins=tuple(pin for pin in problem.pins if pin.variety == name),
        standing=tuple(crop for crop in problem.standing if crop.variety == name),
    )
    columns = build_columns(alone, {name: tuple(crops)})
    for number in (columns.changed == 0).nonzero()[0].tolist():
        column = columns.column(number)
        if column.crops == tuple(crops):
            return column.loss
    return None


def skipped(crops: Sequence[Crop], gap: int, horizon: int) -> tuple[Crop, ...]:
    """The crops with the first one left out this season and grown in the next.

    The later ones are put off as far as ``gap``, the seasons between sowings, asks; what falls out
    of the horizon is not grown.
    """
    first, *rest = crops
    moved = [replace(first, season=first.season + 1)]
    for crop in rest:
        moved.append(replace(crop, season=max(crop.season, moved[-1].season + gap)))
    return tuple(crop for crop in moved if crop.season < horizon)


def losses_of(
    problem: PlanProblem, variety: PlanVariety, crops: Sequence[Crop]
) -> tuple[float, float, float]:
    """Chance of loss with the crops, with the first skipped a year, and without any crop."""
    without = loss_of(problem, variety.name, ())
    assert without is not None  # growing nothing can always be done
    kept = loss_of(problem, variety.name, crops)
    # Pins may ask for crops closer together than is usual.
    pinned = any(pin.variety == variety.name and pin.wanted for pin in problem.pins)
    gap = variety.lead if pinned else max(variety.gap, variety.lead)
    later = loss_of(problem, variety.name, skipped(crops, gap, problem.horizon))
    if later is None:
        later = loss_of(problem, variety.name, crops[1:])
    return (
        without if kept is None else kept,
        without if later is None else later,
        without,
    )
