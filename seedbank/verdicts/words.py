"""The gardener's words for what to do with a lot."""

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding


def verdict_words(verdict: str) -> str:
    """A verdict as a heading."""
    return text_of(Finding("verdict", {"verdict": verdict}))
