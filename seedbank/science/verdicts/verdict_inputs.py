"""What a verdict on a lot rests on."""

from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray, IntArray


class Keepers(IntEnum):
    """How many other keepers of the variety are known; three steps, our choice."""

    NONE = 0
    FEW = 1
    MANY = 2


class SavesTrue(IntEnum):
    """Whether saved seed gives the variety again: no for F1, yes for open-pollinated, landrace.

    Common practice, no single source.
    """

    NO = 0
    YES = 1
    UNKNOWN = 2


@dataclass(frozen=True, slots=True)
class VerdictInputs:
    """What a verdict rests on, arrays (L,). Probabilities 0..1, counts in seeds or plants.

    ``p_parents_now/next/after``: chance that the lot can raise its seed parents if sown this
    season, next, or the one after (the caller adds a biennial's lead). ``p_best_other_lot_*``: the
    most of the variety's other lots, 0 without one. ``days_since_test`` is infinite if never.
    ``cost_of_test`` is in the unit of ``value_of_test`` and infinite where seed is short.
    ``p_usable``: chance that viability is over the floor below which a lot isn't worth sowing.
    ``counted`` is false where ``balance_seeds`` only stands in for seed nobody has counted; nothing
    is then said to be too little, and ``sowings_left`` is infinite.
    ``outlived`` marks seed that can't be stored and is older than such seed lasts, whatever the
    probabilities say. What to weigh is our choice.
    """

    balance_seeds: FloatArray
    counted: BoolArray
    reserve: FloatArray
    parents_needed: FloatArray
    p_parents_now: FloatArray
    p_parents_next: FloatArray
    p_parents_after: FloatArray
    p_below_regeneration: FloatArray
    sowings_left: FloatArray
    viability_median: FloatArray
    p_usable: FloatArray
    other_keepers: IntArray
    saves_true: IntArray
    p_best_other_lot_now: FloatArray
    p_best_other_lot_next: FloatArray
    is_best_lot: BoolArray
    plants_wanted: FloatArray
    value_of_test: FloatArray
    cost_of_test: FloatArray
    seeds_a_test_would_take: FloatArray
    days_since_test: FloatArray
    open_test: BoolArray
    does_not_store: BoolArray
    outlived: BoolArray
    age_years: FloatArray

    def check(self) -> None:
        """Raise ValueError, naming the field, for unequal lengths, NaN, or values out of range."""
        _check(self)


def _check(x: VerdictInputs) -> None:
    length = x.balance_seeds.shape
    for field in fields(x):
        values = getattr(x, field.name)
        if values.shape != length or values.ndim != 1:
            raise ValueError(f"{field.name} must have shape {length}, got {values.shape}")
        probability = field.name.startswith("p_") or field.name == "viability_median"
        if probability and np.any(~((values >= 0) & (values <= 1))):
            raise ValueError(f"{field.name} must lie in 0..1")
        if values.dtype.kind == "f" and np.any(np.isnan(values)):
            raise ValueError(f"{field.name} must not be NaN")
    for name in ("other_keepers", "saves_true"):
        codes = getattr(x, name)
        if np.any((codes < 0) | (codes > 2)):
            raise ValueError(f"{name} must be a code 0..2")
