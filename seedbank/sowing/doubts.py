"""Seedlings up sooner than they can well be."""

from datetime import date
from math import inf

from seedbank.common.errors import Doubt
from seedbank.facts.growing import fastest_emergence
from seedbank.facts.kinds import KindFacts

FAR_EARLIER = 0.5
"""Seedlings before this share of the fastest published time are doubted: our choice."""


def up_too_soon(
    facts: KindFacts, sown_on: date, day: date, units: int, *, field: str
) -> Doubt | None:
    """Seedlings up far sooner than the kind was ever published to come, or the day they were sown.

    Of a kind nobody published a time for, only the day of sowing itself is doubted.
    """
    passed = (day - sown_on).days
    fastest = fastest_emergence(facts.emergence_by_temperature)
    least = 1.0 if fastest is None else max(1.0, FAR_EARLIER * fastest.value)
    if units == 0 or passed >= least:
        return None
    return Doubt(
        "up-too-soon",
        field,
        day.isoformat(),
        units=units,
        days=passed,
        kind=facts.name,
        fastest_days=inf if fastest is None else round(fastest.value),
        source="" if fastest is None else str(fastest.source),
    )
