"""The data dictionary as a page: ``python -m seedbank.interchange.archive.dictionary FILE``.

Writes the part of the page below its mark anew and leaves what is above it alone.
"""

import sys
from itertools import groupby
from pathlib import Path

from seedbank.interchange.archive.columns import dictionary_rows

MARK = "<!-- From here on written by seedbank.interchange.archive.dictionary. -->"


def dictionary_page() -> str:
    """Every column of the archive in Markdown, a table a file."""
    heading, *rows = dictionary_rows()
    parts = []
    for table, columns in groupby(rows, key=lambda row: row[0]):
        parts.append(f"### {table}.csv\n\n| {' | '.join(heading[1:])} |\n|{' --- |' * 7}")
        for row in columns:
            cells = [str(cell).replace("|", r"\|") for cell in row[1:]]
            parts[-1] += "\n| " + " | ".join(cells) + " |"
    return "\n\n".join(parts) + "\n"


def renewed(page: str) -> str:
    """The page with its dictionary written anew. Raises ValueError: it has no mark."""
    above, mark, _ = page.partition(MARK)
    if not mark:
        raise ValueError("the page has no mark to write below")
    return f"{above}{MARK}\n\n{dictionary_page()}"


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(renewed(path.read_text("utf-8")), "utf-8")
