"""Where the next page of a list begins, as it stands in an address."""

from seedbank.common.errors import Refused
from seedbank.database.queries import Cursor

_MEND = "Go back to the start of the list."


def written(cursor: Cursor | None) -> str:
    """The cursor for an address; empty if there is no next page."""
    return "" if cursor is None else f"{cursor.id}~{'' if cursor.key is None else cursor.key}"


def read(text: str, *, numbered: bool = False) -> Cursor | None:
    """The cursor an address holds; ``numbered`` if the list goes by a number.

    Raises Refused: no cursor of ours.
    """
    if not text:
        return None
    number, mark, key = text.partition("~")
    if not (mark and _whole(number) and (_whole(key) or not numbered)):
        raise Refused("after", text, _MEND, "The list doesn't go on from there.")
    return Cursor(int(key) if numbered else key, int(number))


def _whole(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 10
