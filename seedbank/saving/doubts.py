"""Seed harvested sooner than it can well have ripened."""

from collections.abc import Iterable
from datetime import date, timedelta

from seedbank.common.catalogue import text_of
from seedbank.common.dates import days_words
from seedbank.common.doubts import Doubt
from seedbank.facts.growing import SEED_TO_SEED_DAYS
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Fact
from seedbank.saving.tables import SeedCrop
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, DayWindow
from seedbank.science.quantities import Finding


def ripe_too_soon(
    facts: KindFacts, crop: SeedCrop, flowers: Fact[DayWindow] | None, day: date
) -> Iterable[Doubt]:
    """A harvest before the seed can well have ripened, each reason for itself."""

    def doubt(why: str) -> Doubt:
        mend = "Mend the day of harvest, the day it was sown, or the year it flowers."
        return Doubt("harvested_on", day.isoformat(), why, mend)

    sown = crop.sown_on
    if sown is not None and (day - sown).days < SEED_TO_SEED_DAYS.value:
        yield doubt(
            f"It was sown {days_words((day - sown).days)} before. The fastest published from seed "
            f"to seed is {days_words(SEED_TO_SEED_DAYS.value)} ({SEED_TO_SEED_DAYS.source})."
        )
    if sown is not None and facts.flowers_next_year and day.year == sown.year:
        yield doubt(
            f"{facts.name} flowers the year after it is sown, and it was sown in {sown.year}."
        )
    if crop.flower_from is None and flowers is not None and flowers.value != WHOLE_YEAR:
        opens = date(crop.flower_year, 1, 1) + timedelta(days=flowers.value.from_day - 1)
        if day < opens:
            known = Finding(
                "kind-opens",
                {
                    "kind": facts.name,
                    "from_day": flowers.value.from_day,
                    "source": flowers.source,
                },
            )
            yield doubt(text_of(known))
