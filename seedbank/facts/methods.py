"""The published germination test of a kind, and how far replicates of a test may differ."""

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

import numpy as np

from seedbank.facts import loaders
from seedbank.facts.kind_rows import GerminationMethodRow
from seedbank.facts.names import Match, nearest
from seedbank.facts.sources import Fact, Span
from seedbank.facts.tables import parts, span
from seedbank.science.germination.replicates import ToleranceTable


@dataclass(frozen=True, slots=True)
class TemperatureRegime:
    """Constant when ``low_c == high_c``; else about 16 h at the low and 8 h at the high."""

    low_c: float
    high_c: float


class RemedyKind(StrEnum):
    """What is done to the seed before or during the test."""

    PRECHILL = "prechill"
    LIGHT = "light"
    KNO3 = "KNO3"
    SOAK = "soak"
    WASH = "wash"
    FLOOD = "flood"
    SCARIFY = "scarify"
    TEMPERATURE = "temperature"
    MOISTURE = "moisture"
    HANDLING = "handling"


@dataclass(frozen=True, slots=True)
class Remedy:
    """One special direction. ``temperatures_c`` are alternatives; the prechill days come before
    the test and aren't counted in its length. ``text`` is the direction as printed.
    """

    kind: RemedyKind
    only_if_dormant: bool
    text: str
    temperatures_c: tuple[float, ...] = ()
    days: float | None = None
    hours: float | None = None


@dataclass(frozen=True, slots=True)
class GerminationMethod:
    """One published way to test a kind; the first temperature regime is the regular one.

    Where a range of days is printed for the first count, ``first_count_days`` is its end, so
    that slow seedlings can be judged. None: only the final count is made.
    """

    substrata: tuple[str, ...]
    temperatures: tuple[TemperatureRegime, ...]
    first_count_days: int | None
    final_count_days: int
    remedies: tuple[Remedy, ...]
    counts_hard_seed: bool
    directions: str


_NOT_REMEDIES = ("hard", "no first count", "alternate method")
_PATTERNS = (
    (r"prechill", RemedyKind.PRECHILL),
    (r"light$", RemedyKind.LIGHT),
    (r"KNO3", RemedyKind.KNO3),
    (r"presoak", RemedyKind.SOAK),
    (r"wash$", RemedyKind.WASH),
    (r"flood", RemedyKind.FLOOD),
    (r"scrape fruit|remove pulp|remove shells", RemedyKind.SCARIFY),
    (r"(?:prefer |test at )?\d+C$", RemedyKind.TEMPERATURE),
    (r"dry side|air dry|very wet", RemedyKind.MOISTURE),
)


def germination_methods(slug: str) -> tuple[Fact[GerminationMethod], ...]:
    """Published methods for a kind, the regular one first; empty when none is packaged."""
    rows = sorted(
        nearest(loaders.test_methods, slug), key=lambda m: "alternate method" in m.row.special
    )
    facts = tuple(_method(match) for match in rows)
    return tuple({fact.value: fact for fact in reversed(facts)}.values())[::-1]


def _method(match: Match[GerminationMethodRow]) -> Fact[GerminationMethod]:
    row = match.row
    first = span(row.first_count_days)
    directions = parts(row.special)
    note = f"first count printed {row.first_count_days}" if "-" in row.first_count_days else ""
    return match.fact(
        GerminationMethod(
            parts(row.substrata),
            tuple(_regime(text) for text in parts(row.temperature_c)),
            None if first is None else int(first.high),
            row.final_count_days,
            tuple(remedy(text) for text in directions if text not in _NOT_REMEDIES),
            "hard" in directions,
            row.special,
        ),
        note,
    )


def _regime(text: str) -> TemperatureRegime:
    printed = span(text) or Span(float(text), float(text))
    return TemperatureRegime(printed.low, printed.high)


def remedy(text: str) -> Remedy:
    """One printed direction, such as ``dormant: prechill 5C or 10C 3 d``, read into numbers."""
    dormant = text.startswith("dormant: ")
    step = text.removeprefix("dormant: ")
    kind = next((k for pattern, k in _PATTERNS if re.match(pattern, step)), RemedyKind.HANDLING)
    temperatures = tuple(float(number) for number in re.findall(r"(\d+)C", step))
    days = re.search(r"(\d+) d\b", step) if kind is RemedyKind.PRECHILL else None
    hours = re.search(r"(\d+) h\b", step)
    return Remedy(
        kind,
        dormant,
        text,
        temperatures,
        float(days[1]) if days else None,
        float(hours[1]) if hours else None,
    )


@cache
def tolerance_table() -> ToleranceTable:
    """Greatest range between replicates of 100 that chance explains, as published."""
    rows = loaders.replicate_tolerance()

    def column(values: list[int | None]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([np.nan if value is None else value for value in values], dtype=float)

    return ToleranceTable(
        average_high_pct=column([row.average_pct_high for row in rows]),
        average_low_pct=column([row.average_pct_low for row in rows]),
        max_range={
            2: column([row.max_range_2_reps for row in rows]),
            4: column([row.max_range_4_reps for row in rows]),
        },
        source=rows[0].source.text,
    )
