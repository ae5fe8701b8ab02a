"""Seed that is there and that nobody has counted: how it is told, and what stands in for a number.

It is never taken for none. Advice on what to sow isn't bounded by it; where a verdict needs a
number it is reckoned as one packet of such seed (the table ``written_amounts``), and told so.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from seedbank.facts.kind_facts import KindFacts
from seedbank.interchange.spreadsheet.seeds import packet_row
from seedbank.lots.weighing import kind_weight
from seedbank.viability.tables.stock_columns import Collection

NOT_COUNTED: Final = "some, not counted"
MOST_ADVISED: Final = 20_000
"""Seeds, at most, that are advised of a lot nobody has counted. Our choice."""


def seeds_in_words(seeds: int | None) -> str:
    """An amount as a sentence says it: ``24 seeds``, or ``some seeds, not counted``."""
    if seeds is None:
        return "some seeds, not counted"
    return f"{seeds} {'seed' if seeds == 1 else 'seeds'}"


def amount_in_words(seeds: int | None) -> str:
    """What a lot holds, by itself: ``24 seeds``, ``none left`` or ``some, not counted``."""
    return NOT_COUNTED if seeds is None else seeds_in_words(seeds) if seeds else "none left"


def number_or_some(seeds: int | None) -> str:
    """An amount in a column of numbers."""
    return "some" if seeds is None else str(seeds)


def seeds_counted(lots: Collection, at: int) -> int | None:
    """What a lot of a forecast holds, None where nobody has counted it."""
    return int(lots.balance[at]) if lots.counted[at] else None


def most_to_advise(lots: Collection, at: int) -> int:
    """Seeds of a lot of a forecast that advice may spend."""
    return max(int(lots.balance[at]), 0) if lots.counted[at] else MOST_ADVISED


def with_packets_reckoned(lots: Collection, facts: Mapping[int, KindFacts]) -> Collection:
    """The same lots, each that is not counted reckoned to hold one packet of its kind's seed."""
    if lots.counted.all():
        return lots
    balance = lots.balance.copy()
    for at in np.flatnonzero(~lots.counted).tolist():
        weight = kind_weight(facts[int(lots.kind_id[at])])
        balance[at] = packet_row(None if weight is None else weight.tsw_g).typical
    return replace(lots, balance=balance)
