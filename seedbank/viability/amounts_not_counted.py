"""Seed that is there and that nobody has counted: how it is told, and what stands in for a number.

It is never taken for none. Advice on what to sow isn't bounded by it; where a verdict needs a
number it is reckoned as one packet of such seed (the table ``written_amounts``), and told so.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from seedbank.facts.kinds import KindFacts
from seedbank.facts.written_amounts import packet_row
from seedbank.lots.weighing import kind_weight
from seedbank.viability.tables.stock_columns import Collection

MOST_ADVISED: Final = 20_000
"""Seeds, at most, that are advised of a lot nobody has counted. Our choice."""
SEEDS_A_PLANT: Final = 50
"""So many at most for each plant wanted: where they won't do, more hardly would. Our choice."""


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
