"""Rows of the tables that came later: trials, distances by class, ripeness, drying, dormancy."""

from typing import NamedTuple

from seedbank.facts.sources import Source


class YearsRow(NamedTuple):
    """``more_longevity.csv``: years a kind is said to keep; one end may be unprinted."""

    kind: str
    years_low: float | None
    years_high: float | None
    notes: str
    source: Source


class GerminationTemperatureRow(NamedTuple):
    """``more_germination_temperatures.csv``: temperatures in C between which seed germinates."""

    kind: str
    base_c: float | None
    optimum_low_c: str
    optimum_high_c: str
    ceiling_c: str
    thermal_time: str
    what: str
    notes: str
    source: Source


class IsolationRuleRow(NamedTuple):
    """``more_isolation_rules.csv``: metres asked of a class of seed crop; text as printed."""

    kind: str
    class_: str
    isolation_m: str
    notes: str
    source: Source


class CrossingDistanceRow(NamedTuple):
    """``more_crossing_by_distance.csv``: % of seed crossed at metres from the pollen."""

    species: str
    distance_m: float
    crossed_pct: float
    notes: str
    source: Source


class SeedMaturityRow(NamedTuple):
    """``more_seed_maturity.csv``: signs, days and seed moisture of ripe seed, as printed."""

    kind: str
    sign: str
    days_after_flowering: str
    seed_moisture_pct: str
    notes: str
    source: Source


class DryingRow(NamedTuple):
    """``more_drying.csv``: how dry, in what air; ``value`` as printed."""

    kind: str
    what: str
    value: str
    notes: str
    source: Source


class DormancyRow(NamedTuple):
    """``more_dormancy.csv``: what wakes a kind's seed."""

    kind: str
    need: str
    notes: str
    source: Source


class SeedsPerGramRow(NamedTuple):
    """``more_seeds_per_gram.csv``: seeds in a gram, or a range of it."""

    kind: str
    seeds_per_gram: str
    notes: str
    source: Source
