"""What a usual row takes of a kind: here alone verdicts ask how thickly it is usually sown."""

import math
from dataclasses import dataclass

from seedbank.facts.kinds import KindFacts
from seedbank.facts.seeding_rates import usual_rate, usual_spacing_cm
from seedbank.science.sowing.sowing import BY_FEEL
from seedbank.science.verdicts.row_decision import ROW_M
from seedbank.sowing.setting import usual_method

LARGE_SEED_G = 100.0  # thousand-seed weight from which seed is laid one by one: our choice
LARGE_SEED_A_PLANT = 1.5  # common practice, no single source


@dataclass(frozen=True, slots=True)
class UsualRow:
    """Seeds sown for each plant, plants of a 3 m row, and whether it is drilled and thinned."""

    seeds_a_plant: float
    plants: float
    drilled: bool


def usual_row(facts: KindFacts) -> UsualRow:
    """How a row of a kind is usually sown: the middle of printed rates, else common practice."""
    method = usual_method(facts).value
    spacing_cm = usual_spacing_cm(facts)
    drilled = method in ("row", "broadcast")
    printed = usual_rate(facts.slug, "row" if drilled else method, spacing_cm)
    if printed is None:
        weight = facts.thousand_seed_weight_g
        large = weight is not None and weight.value.typical >= LARGE_SEED_G
        seeds = LARGE_SEED_A_PLANT if large and drilled else BY_FEEL[method]
    else:
        seeds = math.sqrt(printed.low * printed.high) * (spacing_cm / 100.0 if drilled else 1.0)
    return UsualRow(seeds, max(1.0, 100.0 * ROW_M / max(spacing_cm, 0.5)), drilled)
