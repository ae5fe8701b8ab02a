"""The causes behind a verdict, as bits to compute with and findings to tell."""

from collections.abc import Mapping
from enum import IntFlag, auto

from seedbank.science.quantities import Finding


class Cause(IntFlag):
    """What can speak for or against a lot; one bit each, so that a lot's causes are one number.

    The list is our choice.
    """

    NONE_LEFT = auto()
    CANNOT_WAIT = auto()
    WEAK_NEXT = auto()
    WEAK_AFTER = auto()
    TOO_FEW_SEEDS = auto()
    REGENERATION_DUE = auto()
    HAS_FALLEN = auto()
    FEW_SOWINGS = auto()
    NO_SOWING = auto()
    RARE = auto()
    COMMON = auto()
    BEST_HOPE = auto()
    ONLY_HOPE = auto()
    OTHER_COVERS = auto()
    BETTER_LOT = auto()
    NOT_BEST = auto()
    FAILING = auto()
    F1 = auto()
    BREEDING_UNKNOWN = auto()
    NOT_WANTED = auto()
    TEST_PAYS = auto()
    TEST_BEFORE_RESCUE = auto()
    TEST_ALONGSIDE = auto()
    OPEN_TEST = auto()
    DOES_NOT_STORE = auto()
    TEST_FAILED = auto()
    OUTLIVED = auto()
    ALL_WELL = auto()
    NOT_COUNTED = auto()
    PLANT_AGAIN = auto()
    PAST_KEEPING = auto()
    KEEPERS_DECIDE = auto()
    MIXTURE = auto()


# What each cause rests on, the weightiest cause first: names of ``VerdictInputs``; ``wanted``: the
# confidence asked for this rarity; or ``reckoned_seeds``: the balance, counted or not.
_RESTS_ON = {
    Cause.NONE_LEFT: ("balance_seeds",),
    Cause.PLANT_AGAIN: ("age_years",),
    Cause.PAST_KEEPING: ("age_years", "keeps_years"),
    Cause.DOES_NOT_STORE: ("balance_seeds",),
    Cause.TEST_FAILED: ("balance_seeds",),
    Cause.OUTLIVED: ("age_years",),
    Cause.KEEPERS_DECIDE: (),
    Cause.MIXTURE: ("balance_seeds",),
    Cause.NOT_BEST: ("p_best_other_lot_now", "p_parents_now"),
    Cause.CANNOT_WAIT: ("parents_needed", "p_parents_now", "p_parents_next"),
    Cause.WEAK_NEXT: ("parents_needed", "p_parents_next", "wanted"),
    Cause.WEAK_AFTER: ("parents_needed", "p_parents_after", "wanted"),
    Cause.TOO_FEW_SEEDS: ("balance_seeds", "parents_needed"),
    Cause.REGENERATION_DUE: ("p_below_regeneration",),
    Cause.HAS_FALLEN: ("p_below_regeneration",),
    Cause.FEW_SOWINGS: ("balance_seeds", "parents_needed"),
    Cause.NO_SOWING: ("balance_seeds", "parents_needed"),
    Cause.RARE: ("wanted", "keepers_unknown"),
    Cause.COMMON: ("wanted", "keepers_unknown"),
    Cause.BEST_HOPE: ("wanted", "p_best_other_lot_now"),
    Cause.ONLY_HOPE: ("balance_seeds",),
    Cause.OTHER_COVERS: ("p_best_other_lot_next",),
    Cause.BETTER_LOT: ("p_best_other_lot_now",),
    Cause.FAILING: ("p_usable", "viability_median"),
    Cause.F1: ("balance_seeds", "viability_median"),
    Cause.BREEDING_UNKNOWN: ("parents_needed",),
    Cause.NOT_WANTED: ("plants_wanted", "keepers_unknown"),
    # How many seeds are best is for the lot's test advice alone to say.
    Cause.TEST_PAYS: ("seeds_a_test_would_take",),
    Cause.TEST_BEFORE_RESCUE: ("p_parents_now", "p_parents_next"),
    Cause.TEST_ALONGSIDE: ("seeds_a_test_would_take",),
    Cause.OPEN_TEST: ("p_usable",),
    Cause.ALL_WELL: ("p_parents_next", "viability_median"),
    Cause.NOT_COUNTED: ("reckoned_seeds",),
}
_CODES = {cause: (cause.name or "").lower().replace("_", "-") for cause in _RESTS_ON}


def findings(causes: int, facts: Mapping[str, float]) -> tuple[Finding, ...]:
    """A lot's cause bits one by one, each with the numbers of ``facts`` it rests on.

    Numbers are those of ``VerdictInputs`` in their units; the order is our choice. Outside
    check: none possible; every number is tested to be an input of the verdict.
    """
    return tuple(
        Finding(_CODES[cause], {name: float(facts[name]) for name in names})
        for cause, names in _RESTS_ON.items()
        if causes & cause
    )
