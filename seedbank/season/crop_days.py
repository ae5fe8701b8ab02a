"""When a seed crop flowers and its seed is ripe: as stated, else as its kind does at its site."""

from dataclasses import dataclass
from datetime import date, timedelta

from seedbank.climate.kind_season import ripe_at
from seedbank.saving.gather_flowering import Year
from seedbank.saving.tables import SeedCrop
from seedbank.science.crossing.flowering_days import DayWindow
from seedbank.science.quantities import Finding
from seedbank.science.season.window_state import date_of

BEFORE_FLOWER_DAYS = 7
"""How long before the usual first flower a seed crop is to be kept apart. Our choice."""


@dataclass(frozen=True, slots=True)
class CropDays:
    """First and last day of flowering, and the days its seed is ripe; None: not known.

    ``apart_from`` is when to keep it apart: a week before flowers usually open.
    """

    apart_from: date | None
    flowers_from: date | None
    flowers_to: date | None
    ripe_from: date | None
    ripe_to: date | None


def crop_days(crop: SeedCrop, flowering: Year) -> CropDays:
    """Days of one seed crop."""
    usual = flowering.window(flowering.varieties[crop.variety_id].kind_id, crop.site_id)
    window = usual.value if usual else None
    first = crop.flower_from or _date(crop.flower_year, window, last=False)
    last = crop.flower_to or _date(crop.flower_year, window, last=True)
    apart = first if first is None or crop.flower_from else first - timedelta(BEFORE_FLOWER_DAYS)
    ripe = (None, None) if crop.flower_to else _ripe(crop, flowering, first)
    return CropDays(apart, first, last, *ripe)


def keep_apart_finding(crop: SeedCrop, flowering: Year, first: date) -> Finding:
    """How to keep a crop apart that begins to flower on a day."""
    site = flowering.sites[crop.site_id]
    return Finding("coming-flower", {"site": site.name, "on": first, "isolation": crop.isolation})


def _ripe(crop: SeedCrop, flowering: Year, first: date | None) -> tuple[date | None, date | None]:
    """When its seed is ripe, where the climate of its site is known; None: it isn't."""
    kind_id = flowering.varieties[crop.variety_id].kind_id
    year = flowering.climates.at(crop.site_id)
    span = None if year.climate is None else ripe_at(flowering.facts[kind_id], year)
    if span is None or first is None:
        return None, None
    ripe = date_of(span.from_day, first.year)
    ripe = ripe if ripe >= first else date_of(span.from_day, first.year + 1)
    last = date_of(span.to_day, ripe.year)
    return ripe, last if last >= ripe else date_of(span.to_day, ripe.year + 1)


def _date(year: int, window: DayWindow | None, *, last: bool) -> date | None:
    """First or last day of flowering in a year; a window over New Year ends in the next one."""
    if window is None:
        return None
    wraps = last and window.from_day > window.to_day
    day = window.to_day if last else window.from_day
    return date(year + wraps, 1, 1) + timedelta(min(day, 365) - 1)
