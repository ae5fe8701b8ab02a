"""Seed harvested sooner than it can well have ripened."""

from collections.abc import Iterable
from datetime import date, timedelta

from seedbank.common.errors import Doubt
from seedbank.facts.growing import SEED_TO_SEED_DAYS
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Fact
from seedbank.saving.tables import SeedCrop
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, DayWindow


def ripe_too_soon(
    facts: KindFacts, crop: SeedCrop, flowers: Fact[DayWindow] | None, day: date
) -> Iterable[Doubt]:
    """A harvest before the seed can well have ripened, each reason for itself."""
    field, value = "harvested_on", day.isoformat()
    sown = crop.sown_on
    if sown is not None and (day - sown).days < SEED_TO_SEED_DAYS.value:
        yield Doubt(
            "seed-too-soon-after-sowing",
            field,
            value,
            days=(day - sown).days,
            fastest_days=SEED_TO_SEED_DAYS.value,
            source=str(SEED_TO_SEED_DAYS.source),
        )
    if sown is not None and facts.flowers_next_year and day.year == sown.year:
        yield Doubt("flowers-year-after", field, value, kind=facts.name, year=sown.year)
    if crop.flower_from is None and flowers is not None and flowers.value != WHOLE_YEAR:
        opens = date(crop.flower_year, 1, 1) + timedelta(days=flowers.value.from_day - 1)
        if day < opens:
            yield Doubt(
                "seed-before-flower",
                field,
                value,
                kind=facts.name,
                opens=flowers.value.from_day,
                source=str(flowers.source),
            )
