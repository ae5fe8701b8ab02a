"""How an amount of seed is told, known or not counted."""

from typing import Final

NOT_COUNTED: Final = "some, not counted"


def seeds_in_words(seeds: int | None) -> str:
    """An amount as a sentence says it: ``24 seeds``, or ``some seeds, not counted``."""
    if seeds is None:
        return "some seeds, not counted"
    return f"{seeds} {'seed' if seeds == 1 else 'seeds'}"


def amount_in_words(seeds: int | None) -> str:
    """What a lot holds, by itself: ``24 seeds``, ``none left`` or ``some, not counted``."""
    return NOT_COUNTED if seeds is None else seeds_in_words(seeds) if seeds else "none left"


def number_or_some(seeds: int | None) -> str:
    """An amount in a column of numbers."""
    return "some" if seeds is None else str(seeds)
