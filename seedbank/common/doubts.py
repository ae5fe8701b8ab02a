"""What is hardly ever so, and is taken only when the gardener says that it is.

What can't be is refused elsewhere. A day nobody knows raises no doubt.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from seedbank.common.dates import days_words, harvested_from
from seedbank.common.errors import Doubted
from seedbank.facts.growing import SEED_TO_SEED_DAYS, fastest_emergence
from seedbank.facts.kind_facts import KindFacts
from seedbank.facts.sources import Fact
from seedbank.lots.tables.lots import Lot
from seedbank.saving.tables.seed_crops import SeedCrop
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, DayWindow, day_words

FAR_EARLIER = 0.5
"""Seedlings before this share of the fastest published time are doubted: our choice."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """The field that looks wrong, its value, why it does, and what to mend if it is."""

    field: str
    value: object
    why: str
    mend: str


def ask(doubts: Iterable[Doubt | None], *, confirmed: bool) -> None:
    """Raises Doubted: there is a doubt, and it wasn't said that it is so. All are told at once."""
    found = [doubt for doubt in doubts if doubt is not None]
    if found and not confirmed:
        first = found[0]
        why = " ".join(doubt.why for doubt in found)
        raise Doubted(why, field=first.field, value=first.value, mend=first.mend)


def before_it_came(lot: Lot, day: date, *, field: str) -> Doubt | None:
    """Seed used before it came here, or before a harvest whose time is only estimated."""
    harvested = harvested_from(lot)
    if lot.acquired_on is not None and day < lot.acquired_on:
        why = f"Lot {lot.code} came here on {lot.acquired_on.isoformat()}, later than that."
    elif lot.harvest_estimated and harvested is not None and day < harvested:
        why = f"Lot {lot.code} is thought to be of {harvested.year}, later than that."
    else:
        return None
    mend = f"Mend {field}, or the day the lot was harvested or came here."
    return Doubt(field, day.isoformat(), why, mend)


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
    when = f"{days_words(passed)} after" if passed else "on the day of"
    known = "Nothing comes up that soon."
    if fastest is not None:
        quickest = days_words(round(fastest.value))
        known = f"The fastest published for {facts.name} is {quickest} ({fastest.source})."
    why = f"{units} up {when} sowing. {known}"
    return Doubt(field, day.isoformat(), why, "Mend the day, the number, or the day of sowing.")


def seedlings_at_once(
    started_on: date, day: date, seedlings: int, *, field: str = "on_date"
) -> Doubt | None:
    """Seedlings judged on the day the seed was set."""
    if seedlings == 0 or day != started_on:
        return None
    number = "1 seedling" if seedlings == 1 else f"{seedlings} seedlings"
    why = f"{number} on the day the seed was set. Nothing germinates that soon."
    return Doubt(field, day.isoformat(), why, "Mend the day, or what was counted.")


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
            known = f"{day_words(flowers.value.from_day)} ({flowers.source})"
            yield doubt(f"{facts.name} opens its first flower about {known}.")
