"""Amounts read from a cell made into seeds: by packets' sizes and by the seed's weight."""

import math
from dataclasses import dataclass, replace

from seedbank.common.forms import MOST
from seedbank.facts.written_amounts import packet_row, row_for
from seedbank.interchange.spreadsheet.amounts import SOME, AmountRead, error_of, rests_on
from seedbank.interchange.spreadsheet.forms import Sure


@dataclass(frozen=True, slots=True)
class Settled:
    """An amount as it is to be booked: seeds with their error (0: none is left), or grams weighed.

    Neither: some, not counted.
    """

    said: str
    sure: Sure
    seeds: int | None = None
    seeds_se: float = 0.0
    grams: float | None = None
    sources: tuple[str, ...] = ()


def settle(
    read: AmountRead, *, tsw_g: float | None, tsw_se_g: float, packet_size: float | None
) -> Settled:
    """The amount in seeds (or grams as weighed), by the kind's thousand-seed weight in g.

    ``packet_size`` is how many seeds a packet holds, where the sheet or its owner says so.
    """
    if read.sure not in (Sure.WRITTEN, Sure.ESTIMATED):
        return Settled(read.said, read.sure)
    if read.packets is not None:
        read = _unpacked(read, tsw_g, packet_size)
    if read.grams is not None:
        return _weighed(read, tsw_g, tsw_se_g)
    if read.seeds is None:
        return Settled(read.said, read.sure)
    seeds = round(read.seeds)
    if seeds > MOST:
        return Settled(f"a lot holds at most {MOST:,} seeds", Sure.WRONG)
    if read.seeds == 0:
        return Settled(read.said, read.sure, 0)
    if seeds == 0:
        return Settled(f"less than one seed: {SOME}", Sure.KEPT)
    error = "" if read.se == 0 else f", give or take {_rounded(read.se)}"
    return Settled(
        f"{read.said}: {seeds} {'seed' if seeds == 1 else 'seeds'}{error}",
        read.sure, seeds, read.se, None, read.sources,
    )  # fmt: skip


def _unpacked(read: AmountRead, tsw_g: float | None, stated: float | None) -> AmountRead:
    """Packets as seeds: by the size stated, else by what packets of such seed may hold."""
    assert read.packets is not None
    size = read.packet_size or stated
    if size:
        row = row_for("packet of known size")
        each, each_se, said = size, size * error_of(row), f"of {size:g} seeds"
    else:
        row = packet_row(tsw_g)
        each, each_se = row.typical, error_of(row)
        said = f"of perhaps {row.low:g} to {row.high:g} seeds (assumed: {row.note})"
    seeds = read.packets * each
    se = math.hypot(read.packets * each_se, read.se * each)
    return replace(
        read, said=f"{read.said} {said}", sure=Sure.ESTIMATED, seeds=seeds, se=se, packets=None,
        sources=(*read.sources, *rests_on(row)),
    )  # fmt: skip


def _weighed(read: AmountRead, tsw_g: float | None, tsw_se_g: float) -> Settled:
    assert read.grams is not None
    if tsw_g is None:
        said = f"{read.said}, but nothing is known of this seed’s weight: {SOME}"
        return Settled(said, Sure.KEPT)
    seeds = 1000 * read.grams / tsw_g
    if round(seeds) == 0:
        return Settled(f"{read.said}: less than one seed: {SOME}", Sure.KEPT)
    if round(seeds) > MOST:
        return Settled(f"a lot holds at most {MOST:,} seeds", Sure.WRONG)
    if read.se == 0:  # weighed: the ledger converts it, by the lot's own weight once that is known
        return Settled(
            f"{read.said}: about {round(seeds)} seeds", read.sure, grams=read.grams,
            sources=read.sources,
        )  # fmt: skip
    se = seeds * math.hypot(read.se / read.grams, tsw_se_g / tsw_g)
    said = f"{read.said}: {round(seeds)} seeds, give or take {_rounded(se)}"
    return Settled(said, read.sure, round(seeds), se, None, read.sources)


def _rounded(se: float) -> str:
    return f"{se:.2g}" if se < 100 else f"{float(f'{se:.2g}'):.0f}"
