"""How dates and sizes are written for whoever is reading, and read from what they type."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from math import inf
from typing import Literal

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal

from seedbank.settings import Units

UNITS_COOKIE, DATES_COOKIE = "seedbank_units", "seedbank_dates"
DATES = {
    "en-GB": "20 Feb 2027",
    "en-US": "Feb 20, 2027",
    "iso": "2027-02-20",
}
_M_PER_FOOT, _CM_PER_INCH, _G_PER_OUNCE = 0.3048, 2.54, 28.349523125
_M2_PER_SQUARE_FOOT = _M_PER_FOOT**2


@dataclass(frozen=True, slots=True)
class _Shown:
    """A unit, or the message of one; what one of it is in the unit kept; the decimals it is shown
    to from each least number on.
    """

    unit: str
    one: float = 1.0
    digits: tuple[tuple[float, int], ...] = ((-inf, 2),)
    zero: float = 0.0


_WEIGHED = ((100.0, 0), (10.0, 1), (0.1, 2), (-inf, 4))
# A spacing is measured with a stick, and a depth with a finger: nobody works to a millimetre.
_SHOWN = {
    "m": {
        Units.METRIC: _Shown("m"),
        Units.US: _Shown("ft", _M_PER_FOOT, ((-inf, 1),)),
    },
    "cm": {
        Units.METRIC: _Shown("cm", 1.0, ((2.0, 0), (-inf, 1))),
        Units.US: _Shown("in", _CM_PER_INCH, ((1.0, 1), (-inf, 2))),
    },
    "m2": {
        Units.METRIC: _Shown("m²"),
        Units.US: _Shown("sq ft", _M2_PER_SQUARE_FOOT, ((-inf, 1),)),
    },
    "g": {
        Units.METRIC: _Shown("g", 1.0, _WEIGHED),
        Units.US: _Shown("oz", _G_PER_OUNCE, _WEIGHED),
    },
    "c": {
        Units.METRIC: _Shown("°C", 1.0, ((-inf, 1),)),
        Units.US: _Shown("°F", 5 / 9, ((-inf, 0),), 32.0),
    },
    "per_m": {
        Units.METRIC: _Shown("per-metre"),
        Units.US: _Shown("per-foot", 1.0 / _M_PER_FOOT),
    },
    "per_m2": {
        Units.METRIC: _Shown("per-square-metre"),
        Units.US: _Shown("per-square-foot", 1.0 / _M2_PER_SQUARE_FOOT),
    },
}
# What one of the unit shown is in the unit kept, by the ending of a field's name.
_TO_METRIC = {
    "_m2": _M2_PER_SQUARE_FOOT,
    "_m": _M_PER_FOOT,
    "_cm": _CM_PER_INCH,
    "_mm": _CM_PER_INCH * 10,
    "_g": _G_PER_OUNCE,
    "grams": _G_PER_OUNCE,
}
_SHORT = {
    Units.METRIC: {"_m2": "m²", "_m": "m", "_cm": "cm", "_mm": "mm", "_g": "g", "grams": "g"},
    Units.US: {"_m2": "sq ft", "_m": "ft", "_cm": "in", "_mm": "in", "_g": "oz", "grams": "oz"},
}


def _metric_of(field: str) -> float:
    """What one of the US unit is in the unit in which the field of this name is kept."""
    return next((factor for end, factor in _TO_METRIC.items() if field.endswith(end)), 1.0)


@dataclass(frozen=True, slots=True)
class Local:
    """One reader's way of writing: ``dates`` a key of ``DATES``, ``units`` metric or US."""

    units: Units = Units.METRIC
    dates: str = "en-GB"

    def day(self, day: date | None) -> str:
        """The date, or a dash where it isn't known."""
        if day is None:
            return "–"
        if self.dates == "iso":
            return day.isoformat()
        return format_date(day, "medium", Locale.parse(self.dates, sep="-"))

    def month(self, day: date) -> str:
        """Month and year."""
        return format_date(day, "MMMM y", "en")

    def month_name(self, number: int) -> str:
        """A month by its number, 1 to 12."""
        return format_date(date(2000, number, 1), "MMMM", "en")

    def rough_day(self, rough: str) -> str:
        """A day, a month or a year, as exactly as it is known: from 2024-03-12, 2024-03, 2024."""
        if self.dates == "iso" or len(rough) == len("2024"):
            return rough
        first = date.fromisoformat(f"{rough}-01"[:10])
        return self.month(first) if len(rough) == len("2024-03") else self.day(first)

    def day_and_month(self, day: date) -> str:
        """The date in any year: 9 Jun; in American dates Jun 9."""
        pattern = "MMM d" if self.dates == "en-US" else "d MMM"
        return format_date(day, pattern, Locale.parse(self._language, sep="-"))

    def listed(self, names: Sequence[str], joined: Literal["standard", "or"] = "standard") -> str:
        """The names one after another, the last joined by "and"; by "or" where they are choices."""
        return format_list(names, joined, Locale.parse(self._language, sep="-"))

    def number(self, value: float, digits: int = 0) -> str:
        """A number with ``digits`` decimals at most, and thousands kept apart."""
        return _decimal(value, digits, self._language)

    def size(self, measure: str, value: float) -> str:
        """A size in the reader's unit; ``measure``, a key of ``_SHOWN``, names the unit kept."""
        shown = _SHOWN[measure][self.units]
        value = value / shown.one + shown.zero
        digits = next(digits for least, digits in shown.digits if value >= least)
        if not digits:
            value = math.floor(value + 0.5)
        if not shown.unit.startswith("per-"):
            return f"{self.number(value, digits)} {shown.unit}"

        from seedbank.common.catalogue import text_of  # which needs this module
        from seedbank.science.quantities import Finding

        return text_of(Finding(shown.unit, {"number": value}), self)

    def unit(self, field: str) -> str:
        """The unit in which a field of this name is typed; empty where it has none."""
        if field.endswith("_c"):
            return "°C" if self.units is Units.METRIC else "°F"
        return next((u for end, u in _SHORT[self.units].items() if field.endswith(end)), "")

    def shown(self, field: str, value: float | None) -> str:
        """A kept figure as it would be typed into the field of this name."""
        if value is None:
            return ""
        if self.units is Units.US:
            if field.endswith("_c"):
                value = value * 9 / 5 + 32
            else:
                value /= _metric_of(field)
        return f"{value:.4g}" if abs(value) < 1000 else f"{value:.0f}"

    def kept(self, field: str, typed: float) -> float:
        """A typed figure in the unit in which the field of this name is kept."""
        if self.units is Units.METRIC:
            return typed
        if field.endswith("_c"):
            return (typed - 32) * 5 / 9
        return typed * _metric_of(field)

    @property
    def _language(self) -> str:
        return "en-GB" if self.dates == "iso" else self.dates


@lru_cache(4096)
def _decimal(value: float, digits: int, language: str) -> str:
    pattern = "#,##0" + ("." + "#" * digits if digits else "")
    return format_decimal(value, pattern, Locale.parse(language, sep="-"))


def local_from(cookies: Mapping[str, str], languages: str, default: Units) -> Local:
    """A reader's own settings (cookies), or else the service's units and the browser's dates.

    ``languages`` is the Accept-Language header.
    """
    units = cookies.get(UNITS_COOKIE, "")
    dates = cookies.get(DATES_COOKIE, "")
    if dates not in DATES:
        american = re.match(r"\s*en-us\b", languages, re.IGNORECASE)
        dates = "en-US" if american else "en-GB"
    return Local(Units(units) if units in list(Units) else default, dates)
