"""The gardener's words for what to do with a lot."""

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding


def verdict_words(verdict: str, fleeting: bool) -> str:
    """A verdict as a heading; ``fleeting`` seed, which can't be stored, isn't kept or rescued."""
    return text_of(Finding("verdict", {"verdict": verdict, "fleeting": fleeting}))
