"""A lot's pedigree as lists within lists: it reads as well aloud and on a phone as drawn."""

from collections.abc import Mapping
from dataclasses import dataclass

from seedbank.saving.answers import DriftAnswer, PedigreeStep

DEEPEST = 12
"""Generations told; older lots are counted."""


@dataclass(frozen=True, slots=True)
class Ancestor:
    """A lot of the line with what it was grown from.

    ``seed_parents`` plants gave its seed (None: not counted); ``kept_pct`` of the founders'
    diversity is still in it. ``told`` already further up: its own parents aren't told again.
    ``left_out``: it has parents too many generations back to tell.
    """

    lot: str
    seed_parents: int | None
    kept_pct: float
    founder: bool
    told: bool = False
    left_out: bool = False
    parents: tuple["Ancestor", ...] = ()


def pedigree_of(answer: DriftAnswer) -> Ancestor:
    """The line of a lot, itself at the root."""
    steps = {step.lot: step for step in answer.line}
    return _ancestor(answer.lot, steps, set(), 1)


def _ancestor(
    lot: str, steps: Mapping[str, PedigreeStep], told: set[str], generation: int
) -> Ancestor:
    step = steps[lot]
    again, deep = lot in told and bool(step.parents), generation > DEEPEST
    told.add(lot)
    within = () if again or deep else step.parents
    return Ancestor(
        lot=lot,
        seed_parents=step.seed_parents,
        kept_pct=100.0 * step.kept,
        founder=not step.parents,
        told=again,
        left_out=deep and bool(step.parents) and not again,
        parents=tuple(_ancestor(one, steps, told, generation + 1) for one in within),
    )
