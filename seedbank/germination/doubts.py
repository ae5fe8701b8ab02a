"""Seedlings judged sooner than they can well be."""

from datetime import date

from seedbank.common.errors import Doubt


def seedlings_at_once(
    started_on: date, day: date, seedlings: int, *, field: str = "on_date"
) -> Doubt | None:
    """Seedlings judged on the day the seed was set."""
    if seedlings == 0 or day != started_on:
        return None
    return Doubt("seedlings-at-once", field, day.isoformat(), seedlings=seedlings)
