"""What amounts come to that are written in words, as ``a packet`` or ``a few``."""

from functools import cache

from seedbank.facts import loaders
from seedbank.facts.descriptor_rows import Measure, WrittenAmountRow


@cache
def _rows() -> dict[str, WrittenAmountRow]:
    return {row.words: row for row in loaders.written_amounts()}


def row_for(words: str) -> WrittenAmountRow:
    """The row of the table for these words, with its source. Raises KeyError: there is none."""
    row = _rows()[words]
    assert row.measure in Measure
    return row


def packet_row(tsw_g: float | None) -> WrittenAmountRow:
    """What a packet holds of seed of which a thousand weigh ``tsw_g`` (None: not known)."""
    size = "unknown"
    if tsw_g is not None:
        size = "large" if tsw_g >= 50 else "middling" if tsw_g >= 5 else "small"
    return row_for(f"packet of {size} seed")
