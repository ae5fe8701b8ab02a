"""Lists in sections: a crop's name on a line of its own, and its varieties below; or named once,
and left blank in the rows that follow.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seedbank.interchange.spreadsheet.answers import Meaning
from seedbank.interchange.spreadsheet.cells import KnownNames
from seedbank.interchange.spreadsheet.columns import Column
from seedbank.interchange.spreadsheet.text import SheetRow


@dataclass(frozen=True, slots=True)
class UnderSection:
    """A row, the heading of its section, and the last kind written in a row above; empty: none."""

    row: SheetRow
    section: str
    above: str


def under_sections(
    rows: Sequence[SheetRow], columns: Sequence[Column], known: KnownNames
) -> Iterator[UnderSection]:
    """Every row that isn't a section's heading: a kind's name alone, above rows without one."""
    kind_at = next((n for n, one in enumerate(columns) if one.meaning is Meaning.KIND), None)
    section = above = ""
    for number, row in enumerate(rows):
        after = rows[number + 1] if number + 1 < len(rows) else None
        if len(columns) > 1 and after is not None and _is_heading(row, after, kind_at, known):
            section, above = next(cell for cell in row.cells if cell).rstrip(" :"), ""
            continue
        kind = row.cells[kind_at] if kind_at is not None and kind_at < len(row.cells) else ""
        if kind:
            section, above = "", kind
        yield UnderSection(row, section, above)


def _is_heading(row: SheetRow, after: SheetRow, kind_at: int | None, known: KnownNames) -> bool:
    cells = [cell for cell in row.cells if cell]
    if len(cells) != 1 or not known.is_kind(cells[0].rstrip(" :")):
        return False
    if sum(map(bool, after.cells)) < 2:
        return False  # else a list of names, with little else told of any
    return kind_at is None or kind_at >= len(after.cells) or not after.cells[kind_at]
