"""The gardener's words for what to do with a lot."""

VERDICTS = {
    "keep": "Keep it",
    "test": "Test it",
    "save-seed-this-year": "Save seed from it this year",
    "rescue": "Rescue it: save seed now",
    "replace": "Get new seed",
    "discard": "Nothing is lost by throwing it out",
}


_FLEETING = "Sow it now, or hand it on"


def verdict_words(verdict: str, fleeting: bool) -> str:
    """A verdict as a heading; ``fleeting`` seed, which can't be stored, isn't kept or rescued."""
    if fleeting and verdict not in ("replace", "discard"):
        return _FLEETING
    return VERDICTS[verdict]
