"""How an amount of seed is told, known or not counted."""

from typing import Final

NOT_COUNTED: Final = "some, not counted"


def seeds_in_words(seeds: int | None) -> str:
    """An amount as a sentence says it: ``24 seeds``, or ``some seeds, not counted``."""
    if seeds is None:
        return "some seeds, not counted"
    return f"{seeds} {'seed' if seeds == 1 else 'seeds'}"
