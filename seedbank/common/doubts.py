"""What is hardly ever so, and is taken only when the gardener says that it is.

What can't be is refused elsewhere. A day nobody knows raises no doubt.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from seedbank.common.errors import Doubted


@dataclass(frozen=True, slots=True)
class Doubt:
    """The field that looks wrong, its value, why it does, and what to mend if it is."""

    field: str
    value: object
    why: str
    mend: str


def ask(doubts: Iterable[Doubt | None], *, confirmed: bool) -> None:
    """Raises Doubted: there is a doubt, and it wasn't said that it is so. All are told at once."""
    found = [doubt for doubt in doubts if doubt is not None]
    if found and not confirmed:
        first = found[0]
        why = " ".join(doubt.why for doubt in found)
        raise Doubted(why, field=first.field, value=first.value, mend=first.mend)
