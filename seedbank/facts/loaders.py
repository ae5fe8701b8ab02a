"""One loader a packaged table: every row, typed, read once and kept."""

from collections.abc import Callable
from functools import cache
from typing import TypeVar

from seedbank.facts import descriptor_rows as p
from seedbank.facts import kind_rows as k
from seedbank.facts import storage_rows as s
from seedbank.facts import trial_rows as t
from seedbank.facts.amendments import all_amendments, amended, unnamed_sources
from seedbank.facts.tables import load_rows

Row = TypeVar("Row")
LOADERS: dict[str, Callable[[], tuple[object, ...]]] = {
    "amendments": all_amendments,
    "unnamed_sources": unnamed_sources,
}
"""Every packaged table by the name of its file; rows as they are used (``amendments``)."""


def _packaged(name: str, row: type[Row]) -> Callable[[], tuple[Row, ...]]:
    @cache
    def load() -> tuple[Row, ...]:
        return tuple(amended(name, printed) for printed in load_rows(name, row))

    load.__name__ = name
    LOADERS[name] = load
    return load


kinds = _packaged("kinds", k.KindRow)
kind_aliases = _packaged("kind_aliases", k.AliasRow)
planting_stock = _packaged("planting_stock", k.PlantingStockRow)
kind_names = _packaged("kind_names", k.KindNameRow)
seed_units = _packaged("seed_units", k.SeedUnitRow)
kind_habits = _packaged("kind_habits", k.HabitRow)
year_habits = _packaged("year_habits", k.YearHabitRow)
minimum_germination = _packaged("minimum_germination", k.MinimumGerminationRow)
state_minimum_germination = _packaged("state_minimum_germination", k.StateMinimumRow)
test_methods = _packaged("test_methods", k.GerminationMethodRow)
reproduction = _packaged("reproduction", k.ReproductionRow)
flowering = _packaged("flowering", k.FloweringRow)
crossing_pairs = _packaged("crossing_pairs", k.CrossingPairRow)
wild_and_field_relatives = _packaged("wild_and_field_relatives", k.RelativeRow)
sowing = _packaged("sowing", k.SowingRow)
growing_calendar = _packaged("growing_calendar", k.GrowingCalendarRow)
seeding_rates = _packaged("seeding_rates", k.SeedingRateRow)
seed_weight = _packaged("seed_weight", k.SeedWeightRow)
days_to_emergence_by_temperature = _packaged("days_to_emergence_by_temperature", k.EmergenceRow)
field_emergence = _packaged("field_emergence", k.FieldEmergenceRow)
seed_yield = _packaged("seed_yield", k.SeedYieldRow)
cautions = _packaged("cautions", k.CautionRow)
viability_constants = _packaged("viability_constants", s.ViabilityConstantsRow)
roberts1973_constants = _packaged("roberts1973_constants", s.Roberts1973Row)
constants_for_kind = _packaged("constants_for_kind", s.ConstantsChoiceRow)
half_viability = _packaged("half_viability", s.HalfViabilityRow)
longevity = _packaged("longevity", s.LongevityRow)
oil_content = _packaged("oil_content", s.OilContentRow)
moisture_equilibrium = _packaged("moisture_equilibrium", s.MoistureEquilibriumRow)
sealed_container_moisture = _packaged("sealed_container_moisture", s.SealedMoistureRow)
low_moisture_limits = _packaged("low_moisture_limits", s.LowMoistureRow)
replicate_tolerance = _packaged("replicate_tolerance", s.ReplicateToleranceRow)
more_longevity = _packaged("more_longevity", t.YearsRow)
more_germination_temperatures = _packaged(
    "more_germination_temperatures", t.GerminationTemperatureRow
)
more_isolation_rules = _packaged("more_isolation_rules", t.IsolationRuleRow)
more_crossing_by_distance = _packaged("more_crossing_by_distance", t.CrossingDistanceRow)
more_seed_maturity = _packaged("more_seed_maturity", t.SeedMaturityRow)
more_drying = _packaged("more_drying", t.DryingRow)
more_dormancy = _packaged("more_dormancy", t.DormancyRow)
more_seeds_per_gram = _packaged("more_seeds_per_gram", t.SeedsPerGramRow)
passport_descriptors = _packaged("passport_descriptors", p.DescriptorRow)
passport_codes = _packaged("passport_codes", p.DescriptorCodeRow)
written_amounts = _packaged("written_amounts", p.WrittenAmountRow)


@cache
def list_words() -> tuple[p.ListWordRow, ...]:
    """Words in lists of seed: no facts about seed, so they stand apart (``words/``)."""
    return load_rows("list_words", p.ListWordRow, "words")
