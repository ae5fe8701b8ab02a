"""The causes behind a verdict, as bits to compute with and findings to tell."""

from collections.abc import Mapping
from enum import IntFlag, auto

from seedbank.science.quantities import Finding


class Cause(IntFlag):
    """What can speak for or against a lot; one bit each, so that a lot's causes are one number.

    The list is our choice.
    """

    NONE_LEFT = auto()
    PLANT_AGAIN = auto()
    PAST_KEEPING = auto()
    MIXTURE = auto()
    DOES_NOT_STORE = auto()
    TEST_FAILED = auto()
    OUTLIVED = auto()
    CANNOT_WAIT = auto()
    DUE = auto()
    HALF_HELD_BACK = auto()
    REST_IS_DYING = auto()
    TOO_LITTLE_TO_DIVIDE = auto()
    SHORT_OF_PARENTS = auto()
    SPENT = auto()
    WEAK_ROW = auto()
    TEST_PAYS = auto()
    CAN_WAIT = auto()
    ROWS = auto()
    ROW_SHORT = auto()
    ONLY_HOPE = auto()
    SECOND_STRING = auto()
    OTHER_COVERS = auto()
    RARE = auto()
    KEEPERS_DECIDE = auto()
    F1 = auto()
    BREEDING_UNKNOWN = auto()
    NOT_WANTED = auto()
    HAS_FALLEN = auto()
    TEST_ALONGSIDE = auto()
    OPEN_TEST = auto()
    NOT_COUNTED = auto()
    ALL_IN_ONE_PACKET = auto()


# What each cause rests on, the weightiest cause first: names of ``VerdictInputs``; ``waiting``: a
# season's waiting in shares of the line; ``crop_now`` and ``crop_rest``: what a seed crop of all
# now, and of the rest next season, keeps of it; ``crop_half``: of half now; ``crop`` and
# ``rows``: of the rows it gives; or ``reckoned_seeds``: the balance, counted or not.
_RESTS_ON = {
    Cause.NONE_LEFT: ("balance_seeds",),
    Cause.PLANT_AGAIN: ("age_years",),
    Cause.PAST_KEEPING: ("age_years", "keeps_years"),
    Cause.MIXTURE: ("balance_seeds",),
    Cause.DOES_NOT_STORE: ("balance_seeds",),
    Cause.TEST_FAILED: ("balance_seeds",),
    Cause.OUTLIVED: ("age_years",),
    Cause.CANNOT_WAIT: ("waiting", "parents_needed", "p_parents_now", "p_parents_next"),
    Cause.DUE: ("waiting", "parents_needed", "viability_median"),
    Cause.HALF_HELD_BACK: ("crop_rest",),
    Cause.REST_IS_DYING: ("crop_now", "crop_rest"),
    Cause.TOO_LITTLE_TO_DIVIDE: ("crop_now", "crop_half", "parents_needed"),
    Cause.SHORT_OF_PARENTS: ("balance_seeds", "parents_needed"),
    Cause.SPENT: ("viability_median", "p_usable"),
    Cause.OTHER_COVERS: (),
    Cause.WEAK_ROW: ("crop", "viability_median"),
    Cause.TEST_PAYS: ("seeds_a_test_would_take",),
    Cause.CAN_WAIT: ("viability_median", "parents_needed"),
    Cause.ROWS: ("rows", "viability_median"),
    Cause.ROW_SHORT: ("rows", "viability_median", "other_keepers"),
    Cause.ONLY_HOPE: ("balance_seeds",),
    Cause.SECOND_STRING: (),
    Cause.ALL_IN_ONE_PACKET: ("crop_half",),
    Cause.RARE: ("other_keepers",),
    Cause.KEEPERS_DECIDE: (),
    Cause.F1: ("balance_seeds",),
    Cause.BREEDING_UNKNOWN: ("parents_needed",),
    Cause.NOT_WANTED: ("plants_wanted",),
    Cause.HAS_FALLEN: ("p_below_regeneration",),
    # How many seeds are best is for the lot's test advice alone to say.
    Cause.TEST_ALONGSIDE: ("seeds_a_test_would_take",),
    Cause.OPEN_TEST: ("p_usable",),
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
