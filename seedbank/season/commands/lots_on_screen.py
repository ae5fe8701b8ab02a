"""What the lists of lots on screen have in common, and seed to save as a table."""

import math
from collections.abc import Sequence

from seedbank.cli.screen import chance, heading, name_of, table, words
from seedbank.common.answers import ViabilityPoint
from seedbank.verdicts.answers import SeedToSaveItem


def seed_to_save_table(items: Sequence[SeedToSaveItem]) -> None:
    """Varieties whose seed to save, in the order given, with the chance of raising the parents."""
    if not items:
        return
    heading(words("save-heading"))
    table(
        ("variety", "keepers", "do", "lot", "seeds", "sow", "chance", "in-a-year"),
        [
            (
                name_of(one.variety),
                words("keepers-number", keepers=one.other_keepers.value),
                words("verdict", verdict=one.verdict),
                one.sow_lot,
                amount_words(one.seeds_held),
                words(
                    "to-sow",
                    sow=seeds_word(one.seeds_to_sow, one.seeds_to_hold),
                    seeds=one.seeds_to_sow or 0,
                ),
                chance(one.probability_now),
                chance(one.probability_next_season),
            )
            for one in items
        ],
        numbers=4,
    )


def seeds_word(sow: int | None, hold: int | None) -> str:
    """Whether half is sown, all, or so many; None: nobody has counted it."""
    if sow is None:
        return "half"
    return "all" if hold == 0 else "seeds"


def amount_words(seeds: int | None) -> str:
    """How many seeds, in a column; a dash or the like where nobody has counted."""
    return words("amount-in-column", seeds=math.nan if seeds is None else seeds)


def alive_words(now: ViabilityPoint) -> str:
    """How much of a lot is alive, or that nobody can say."""
    return words(
        "alive",
        median_pct=now.median_pct if now.reckoned else math.nan,
        low_pct=now.low_90_pct,
        high_pct=now.high_90_pct,
    )
