"""Published tolerance between the replicates of one test."""

from functools import cache

import numpy as np

from seedbank.facts import loaders
from seedbank.science.germination.replicates import ToleranceTable


@cache
def tolerance_table() -> ToleranceTable:
    """Greatest range between replicates of 100 that chance explains, as published."""
    rows = loaders.replicate_tolerance()

    def column(values: list[int | None]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([np.nan if value is None else value for value in values], dtype=float)

    return ToleranceTable(
        average_high_pct=column([row.average_pct_high for row in rows]),
        average_low_pct=column([row.average_pct_low for row in rows]),
        max_range={
            2: column([row.max_range_2_reps for row in rows]),
            4: column([row.max_range_4_reps for row in rows]),
        },
        source=rows[0].source.text,
    )
