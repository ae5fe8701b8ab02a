"""Rows of the tables that speak about one kind each: names, tests, growing, saving."""

from typing import NamedTuple

from seedbank.facts.sources import Basis, Source


class KindRow(NamedTuple):
    """``kinds.csv``: the canonical kinds. ``seed_unit`` seed | cluster."""

    slug: str
    name: str
    botanical: str
    family: str
    group: str
    seed_unit: str
    storage_class: str
    poisonous: bool
    caution_topics: str
    source: Source


class AliasRow(NamedTuple):
    """``kind_aliases.csv``: a name as one table prints it, and the kind it serves.

    ``table`` is a table's name, or ``any`` for every table.
    """

    table: str
    name: str
    slug: str
    basis: Basis
    reason: str
    source: Source


class PlantingStockRow(NamedTuple):
    """``planting_stock.csv``: kinds usually kept as something else than seed, and how long."""

    slug: str
    kept_as: str
    years_low: float
    years_high: float
    notes: str
    source: Source


class KindNameRow(NamedTuple):
    """``kind_names.csv``: a word people use for a kind; ``language`` by its code in ISO 639-1."""

    slug: str
    name: str
    language: str
    source: Source


class SeedUnitRow(NamedTuple):
    """``seed_units.csv``: seedlings from one germinated cluster."""

    slug: str
    seedlings_low: float
    seedlings_typical: float
    seedlings_high: float
    notes: str
    source: Source


class HabitRow(NamedTuple):
    """``kind_habits.csv``: life cycle and mating of kinds that ``reproduction.csv`` leaves out."""

    slug: str
    life_cycle: str
    mating: str
    pollination: str
    source: Source


class MinimumGerminationRow(NamedTuple):
    """``minimum_germination.csv``: legal minima in % of seeds (EU: of clusters for beet)."""

    kind: str
    botanical: str
    us_min_pct: float | None
    eu_min_pct: float | None
    source: Source


class StateMinimumRow(NamedTuple):
    """``state_minimum_germination.csv``: minima of single US states, in %."""

    kind: str
    botanical: str
    min_pct: float
    source: Source


class GerminationMethodRow(NamedTuple):
    """``test_methods.csv``: the published germination test, as printed."""

    kind: str
    botanical: str
    substrata: str
    temperature_c: str
    first_count_days: str
    final_count_days: int
    special: str
    source: Source


class YearHabitRow(NamedTuple):
    """``year_habits.csv``: perennials that flower in the summer they are sown (``first-summer``),
    kinds a frost kills (``frost-tender``), and whose seed warm soil puts to sleep
    (``heat-dormant``): from when it may, and when it surely does."""

    slug: str
    habit: str
    from_c: float | None
    surely_c: float | None
    notes: str
    source: Source


class ReproductionRow(NamedTuple):
    """``reproduction.csv``: isolation in metres, seed parents in plants; a basis a column."""

    kind: str
    botanical: str
    crossing_group: str
    life_cycle: str
    mating: str
    pollination: str
    isolation_m_home: float
    isolation_m_strict: float
    min_plants_viable: int
    min_plants_maintain: int
    min_plants_rare: int
    basis_home: str
    basis_strict: str
    basis_viable: str
    basis_maintain: str
    basis_rare: str
    notes: str
    source: Source


class FloweringRow(NamedTuple):
    """``flowering.csv``: days of the year in flower when grown for seed, both ends included."""

    slug: str
    from_day: int
    to_day: int
    notes: str
    source: Source


class CrossingPairRow(NamedTuple):
    """``crossing_pairs.csv``: groups that cross in part; ``likelihood`` often | sometimes | rarely.

    The seed group is the mother; with ``both_ways`` either may be.
    """

    seed_group: str
    pollen_group: str
    both_ways: bool
    likelihood: str
    notes: str
    source: Source


class RelativeRow(NamedTuple):
    """``wild_and_field_relatives.csv``: what may flower near; ``grows`` wild | field | garden."""

    name: str
    botanical: str
    crossing_group: str
    grows: str
    from_day: int
    to_day: int
    notes: str
    source: Source


class SowingRow(NamedTuple):
    """``sowing.csv``: depth and spacing in cm, soil temperatures in C."""

    kind: str
    botanical: str
    depth_cm: float
    in_row_cm: float
    row_cm: float
    in_row_cm_range: str
    row_cm_range: str
    method: str
    soil_min_c: float
    soil_opt_c: float | None
    soil_range_low_c: float | None
    soil_range_high_c: float | None
    soil_max_c: float | None
    basis_spacing: str
    basis_temp: str
    notes: str
    source: Source


class SeedWeightRow(NamedTuple):
    """``seed_weight.csv``: weight of a thousand seed units in g."""

    kind: str
    botanical: str
    seeds_per_gram: float
    thousand_seed_weight_g_low: float | None
    thousand_seed_weight_g_typical: float
    thousand_seed_weight_g_high: float | None
    range_basis: str
    notes: str
    source: Source


class EmergenceRow(NamedTuple):
    """``days_to_emergence_by_temperature.csv``: days and % at one soil temperature.

    ``result`` emerged | none | percent_only | not_tested.
    """

    kind: str
    soil_temp_c: float
    days: float | None
    emergence_pct: float | None
    result: str
    sowing_depth_cm: float | None
    notes: str
    source: Source


class FieldEmergenceRow(NamedTuple):
    """``field_emergence.csv``: field emergence as a fraction of laboratory germination."""

    kind: str
    conditions: str
    factor: float | None
    factor_low: float | None
    factor_high: float | None
    notes: str
    source: Source


class SeedYieldRow(NamedTuple):
    """``seed_yield.csv``: seed from one plant, in seeds and in g, or from one fruit or pod."""

    kind: str
    seeds_per_plant_low: float | None
    seeds_per_plant_high: float | None
    grams_per_plant_low: float | None
    grams_per_plant_high: float | None
    seeds_per_unit_low: float | None
    seeds_per_unit_high: float | None
    unit: str
    notes: str
    source: Source


class CautionRow(NamedTuple):
    """``cautions.csv``: what can harm people, seed or the law."""

    topic: str
    caution: str
    source: Source


class GrowingCalendarRow(NamedTuple):
    """``growing_calendar.csv``: months and days of one cool maritime northern garden."""

    kind: str
    sow_under_cover_months: str
    sow_outdoors_months: str
    outdoors_weeks_from_last_frost_first: int | None
    outdoors_weeks_from_last_frost_last: int | None
    days_to_maturity_low_high: str
    flowers_from_sowing: str
    seed_ripe_months: str
    days_flower_to_ripe_seed: str
    years_between_seed_crops: str
    parents_home_practical: int | None
    parents_home_published: str
    parents_home_published_source: str
    parents_genebank_maintain: int | None
    parents_genebank_rare: int | None
    harvest_clean_dry: str
    notes: str
    source: Source


class SeedingRateRow(NamedTuple):
    """``seeding_rates.csv``: seed a metre of row, at a station, in a cell, as printed.

    ``conditions`` says where a row is no rate of today's: an amount to buy, or an old one.
    """

    kind: str
    method: str
    seeds_per_m_low: float | None
    seeds_per_m_high: float | None
    seeds_per_station: str
    seeds_per_cell: str
    spacing_after_thinning_cm: str
    thinning: str
    conditions: str
    notes: str
    source: Source
