"""Looking over a collection file before it is read: it may be large, or no text at all.

The file is gone through piece by piece, so that one too large for the memory is refused in little
of it, by the line at which it grew too large.
"""

from pathlib import Path
from typing import Final

from seedbank.interchange.folder.problems import Problems

LARGEST: Final = 256 * 1024**2  # bytes of a file
MOST_LINES: Final = 1_000_000
LONGEST_LINE: Final = 1_000_000  # bytes
LONGEST_CELL: Final = 10_000  # characters; notes hold 4,000
MOST_COLUMNS: Final = 200
_PIECE = 1 << 20


def text_of(path: Path, problems: Problems) -> str | None:
    """The text of a file in UTF-8, with or without byte order mark; None if it can't be read so.

    What is in the way is added to ``problems``, by line.
    """
    found = _in_the_way(path)
    if found is not None:
        problems.add(path.name, found[0], "", "", found[1])
        return None
    content = path.read_bytes()
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = content[: wrong.start].count(b"\n") + 1
        problems.add(path.name, line, "", "", "save the file as CSV in UTF-8")
        return None


def _in_the_way(path: Path) -> tuple[int, str] | None:
    """The line at which the file can't be read on, and the mend; None if it can be read whole."""
    line, length, size = 1, 0, 0
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            size += len(piece)
            nul = piece.find(b"\0")
            if nul >= 0:
                mend = "a NUL stands here, so it is no CSV in UTF-8; save the file as that"
                return line + piece.count(b"\n", 0, nul), mend
            ends = piece.count(b"\n")
            first = piece.find(b"\n")
            longest = length + (first if first >= 0 else len(piece))
            if longest > LONGEST_LINE:
                return line, f"a line may hold {LONGEST_LINE:,} bytes, this one holds more"
            if line + ends > MOST_LINES + 1:
                return MOST_LINES + 1, f"a file may hold {MOST_LINES:,} lines; bring it in parts"
            length = longest if first < 0 else len(piece) - piece.rfind(b"\n") - 1
            line += ends
            if size > LARGEST:
                return line, f"a file may hold {LARGEST:,} bytes; bring it in parts"
    return None
