"""What is hardly ever so, and is taken only when the gardener says that it is.

What can't be is refused elsewhere. A day nobody knows raises no doubt.
"""

from collections.abc import Iterable

from seedbank.common.errors import Doubt, Doubted


def ask(doubts: Iterable[Doubt | None], *, confirmed: bool) -> None:
    """Raises Doubted: there is a doubt, and it wasn't said that it is so. All are told at once."""
    found = [doubt for doubt in doubts if doubt is not None]
    if found and not confirmed:
        raise Doubted(found)
