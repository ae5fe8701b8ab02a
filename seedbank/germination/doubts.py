"""Seedlings judged sooner than they can well be."""

from datetime import date

from seedbank.common.doubts import Doubt


def seedlings_at_once(
    started_on: date, day: date, seedlings: int, *, field: str = "on_date"
) -> Doubt | None:
    """Seedlings judged on the day the seed was set."""
    if seedlings == 0 or day != started_on:
        return None
    number = "1 seedling" if seedlings == 1 else f"{seedlings} seedlings"
    why = f"{number} on the day the seed was set. Nothing germinates that soon."
    return Doubt(field, day.isoformat(), why, "Mend the day, or what was counted.")
