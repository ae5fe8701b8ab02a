"""Lots fitted together, a few at a time: their quadrature rows kept, or made anew when asked for.

Rows take some 35 kB a lot. Those of a small collection are kept for the next question; a large one
is gone through a part at a time, so that memory doesn't grow with it. Outside checks: those of
``posterior``, and that parts fitted anew answer as the whole kept, figure for figure.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.viability.posterior_inputs import Observations, Priors
from seedbank.science.viability.posterior_rows import Rows, build_rows, rows_needed
from seedbank.science.viability.posterior_scan import Scan, scan_posterior

_SCAN_CHUNK = 512
_TABLE_CHUNK = 96  # a block's tables stay in the second-level cache


class Block:
    """A few lots that share array shapes, with rows built once and refined when asked to."""

    __slots__ = ("lots", "observations", "priors", "rows", "scan")

    def __init__(
        self, lots: IntArray, priors: Priors, observations: Observations, scan: Scan, count: int
    ) -> None:
        self.lots = lots
        self.priors = priors
        self.observations = observations
        self.scan = scan
        self.rows = build_rows(priors, observations, scan, count)

    def refined(self, dose: FloatArray) -> "list[tuple[IntArray, Rows]]":
        """Rows fine enough for questions at ``dose``, as (positions in block, rows) groups."""
        rows = self.rows
        needed = rows_needed(rows.lam, rows.weight, rows.centre, rows.spread, dose)
        enough = np.flatnonzero(needed <= rows.count)
        if enough.size == needed.size:
            return [(enough, rows)]
        groups = [(enough, rows.take(enough))] if enough.size else []
        for count in np.unique(needed[needed > rows.count]):
            at = np.flatnonzero(needed == count)
            finer = build_rows(
                self.priors.take(at),
                self.observations.take(at, self.observations.width),
                self.scan.take(at),
                int(count),
            )
            groups.append((at, finer))
        return groups


@dataclass(frozen=True, slots=True)
class Fit:
    """What lots are fitted to; each pass over it fits them again, alike to the last figure."""

    priors: Priors
    observations: Observations
    horizon: FloatArray

    def __iter__(self) -> Iterator[Block]:
        for lots in self.parts():
            yield from self.blocks(lots, lots)

    def parts(self) -> Iterator[IntArray]:
        """Positions of the lots, some hundreds at a time, those alike in their tests together."""
        used = np.count_nonzero(self.observations.seeds > 0, axis=1)
        spread = np.any(self.observations.overdispersion > 0, axis=1)
        order = np.lexsort((used, spread))
        for start in range(0, order.size, _SCAN_CHUNK):
            yield order[start : start + _SCAN_CHUNK]

    def blocks(self, lots: IntArray, named: IntArray) -> Iterator[Block]:
        """One part's blocks, in which the lots go by the numbers ``named``."""
        used = np.count_nonzero(self.observations.seeds[lots] > 0, axis=1)
        part = self.priors.take(lots)
        tests = self.observations.take(lots, int(used.max(initial=0)))
        scan = scan_posterior(part, tests)
        count = rows_needed(scan.lam, scan.weight, scan.mode, scan.spread, self.horizon[lots])
        for rows in np.unique(count):
            same = np.flatnonzero(count == rows)
            for first in range(0, same.size, _TABLE_CHUNK):
                at = same[first : first + _TABLE_CHUNK]
                yield Block(
                    named[at],
                    part.take(at),
                    tests.take(at, tests.width),
                    scan.take(at),
                    int(rows),
                )
