"""What an amount of seed may be: its weight, its error, what a thousand seeds weigh."""

import math

from seedbank.common.faults import BadValue


def check_amounts(seeds_se: float, grams: float | None, weight: float | None) -> None:
    """Raises BadValue: a weight or an error below zero or without end."""
    if not (0 <= seeds_se < math.inf):
        raise BadValue("seeds_se", seeds_se, "give a standard error of 0 or more")
    if grams is not None and not (0 <= grams < math.inf):
        raise BadValue("grams", grams, "give a weight of 0 g or more, whichever way it moves")
    if weight is not None and not (0 < weight < math.inf):
        raise BadValue("thousand_seed_weight_g", weight, "give a weight above 0 g")
