"""One loader a packaged table: every row, typed, read once and kept."""

from collections.abc import Callable
from functools import cache
from typing import TypeVar

from seedbank.facts import descriptor_rows as p
from seedbank.facts import kind_rows as k
from seedbank.facts import storage_rows as s
from seedbank.facts.tables import load_rows

Row = TypeVar("Row")
LOADERS: dict[str, Callable[[], tuple[object, ...]]] = {}
"""Every packaged table by the name of its file."""


def _packaged(name: str, row: type[Row]) -> Callable[[], tuple[Row, ...]]:
    @cache
    def load() -> tuple[Row, ...]:
        return load_rows(name, row)

    load.__name__ = name
    LOADERS[name] = load
    return load


kinds = _packaged("kinds", k.KindRow)
kind_aliases = _packaged("kind_aliases", k.AliasRow)
planting_stock = _packaged("planting_stock", k.PlantingStockRow)
seed_units = _packaged("seed_units", k.SeedUnitRow)
kind_habits = _packaged("kind_habits", k.HabitRow)
first_summer_perennials = _packaged("first_summer_perennials", k.FirstSummerRow)
kind_corrections = _packaged("kind_corrections", k.CorrectionRow)
minimum_germination = _packaged("minimum_germination", k.MinimumGerminationRow)
state_minimum_germination = _packaged("state_minimum_germination", k.StateMinimumRow)
test_methods = _packaged("test_methods", k.GerminationMethodRow)
test_method_codes = _packaged("test_method_codes", k.MethodCodeRow)
reproduction = _packaged("reproduction", k.ReproductionRow)
flowering = _packaged("flowering", k.FloweringRow)
crossing_pairs = _packaged("crossing_pairs", k.CrossingPairRow)
wild_and_field_relatives = _packaged("wild_and_field_relatives", k.RelativeRow)
sowing = _packaged("sowing", k.SowingRow)
heat_dormancy = _packaged("heat_dormancy", k.HeatDormancyRow)
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
storage_trial_110_days = _packaged("storage_trial_110_days", s.StorageTrialRow)
genebank_sequential_test = _packaged("genebank_sequential_test", s.SequentialStepRow)
regeneration_thresholds = _packaged("regeneration_thresholds", s.RegenerationThresholdRow)
replicate_tolerance = _packaged("replicate_tolerance", s.ReplicateToleranceRow)
ista_replicate_tolerance = _packaged("ista_replicate_tolerance", s.IstaToleranceRow)
test_tolerances = _packaged("test_tolerances", s.BetweenTestsToleranceRow)
published_checks = _packaged("published_checks", s.PublishedCheckRow)
passport_descriptors = _packaged("passport_descriptors", p.DescriptorRow)
passport_codes = _packaged("passport_codes", p.DescriptorCodeRow)
written_amounts = _packaged("written_amounts", p.WrittenAmountRow)
