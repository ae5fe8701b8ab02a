"""One loader a packaged table: every row, typed, read once and kept."""

from collections.abc import Callable, Mapping
from functools import cache
from types import MappingProxyType

from seedbank.facts import descriptor_rows as p
from seedbank.facts import descriptor_rows as w
from seedbank.facts import kind_rows as k
from seedbank.facts import storage_rows as s
from seedbank.facts.tables import load_rows


@cache
def kinds() -> tuple[k.KindRow, ...]:
    return load_rows("kinds", k.KindRow)


@cache
def kind_aliases() -> tuple[k.AliasRow, ...]:
    return load_rows("kind_aliases", k.AliasRow)


@cache
def seed_units() -> tuple[k.SeedUnitRow, ...]:
    return load_rows("seed_units", k.SeedUnitRow)


@cache
def kind_habits() -> tuple[k.HabitRow, ...]:
    return load_rows("kind_habits", k.HabitRow)


@cache
def first_summer_perennials() -> tuple[k.FirstSummerRow, ...]:
    return load_rows("first_summer_perennials", k.FirstSummerRow)


@cache
def kind_corrections() -> tuple[k.CorrectionRow, ...]:
    return load_rows("kind_corrections", k.CorrectionRow)


@cache
def minimum_germination() -> tuple[k.MinimumGerminationRow, ...]:
    return load_rows("minimum_germination", k.MinimumGerminationRow)


@cache
def state_minimum_germination() -> tuple[k.StateMinimumRow, ...]:
    return load_rows("state_minimum_germination", k.StateMinimumRow)


@cache
def test_methods() -> tuple[k.GerminationMethodRow, ...]:
    return load_rows("test_methods", k.GerminationMethodRow)


@cache
def test_method_codes() -> tuple[k.MethodCodeRow, ...]:
    return load_rows("test_method_codes", k.MethodCodeRow)


@cache
def reproduction() -> tuple[k.ReproductionRow, ...]:
    return load_rows("reproduction", k.ReproductionRow)


@cache
def flowering() -> tuple[k.FloweringRow, ...]:
    return load_rows("flowering", k.FloweringRow)


@cache
def crossing_pairs() -> tuple[k.CrossingPairRow, ...]:
    return load_rows("crossing_pairs", k.CrossingPairRow)


@cache
def wild_and_field_relatives() -> tuple[k.RelativeRow, ...]:
    return load_rows("wild_and_field_relatives", k.RelativeRow)


@cache
def sowing() -> tuple[k.SowingRow, ...]:
    return load_rows("sowing", k.SowingRow)


@cache
def heat_dormancy() -> tuple[k.HeatDormancyRow, ...]:
    return load_rows("heat_dormancy", k.HeatDormancyRow)


@cache
def seed_weight() -> tuple[k.SeedWeightRow, ...]:
    return load_rows("seed_weight", k.SeedWeightRow)


@cache
def days_to_emergence_by_temperature() -> tuple[k.EmergenceRow, ...]:
    return load_rows("days_to_emergence_by_temperature", k.EmergenceRow)


@cache
def field_emergence() -> tuple[k.FieldEmergenceRow, ...]:
    return load_rows("field_emergence", k.FieldEmergenceRow)


@cache
def seed_yield() -> tuple[k.SeedYieldRow, ...]:
    return load_rows("seed_yield", k.SeedYieldRow)


@cache
def cautions() -> tuple[k.CautionRow, ...]:
    return load_rows("cautions", k.CautionRow)


@cache
def viability_constants() -> tuple[s.ViabilityConstantsRow, ...]:
    return load_rows("viability_constants", s.ViabilityConstantsRow)


@cache
def roberts1973_constants() -> tuple[s.Roberts1973Row, ...]:
    return load_rows("roberts1973_constants", s.Roberts1973Row)


@cache
def constants_for_kind() -> tuple[s.ConstantsChoiceRow, ...]:
    return load_rows("constants_for_kind", s.ConstantsChoiceRow)


@cache
def half_viability() -> tuple[s.HalfViabilityRow, ...]:
    return load_rows("half_viability", s.HalfViabilityRow)


@cache
def longevity() -> tuple[s.LongevityRow, ...]:
    return load_rows("longevity", s.LongevityRow)


@cache
def oil_content() -> tuple[s.OilContentRow, ...]:
    return load_rows("oil_content", s.OilContentRow)


@cache
def moisture_equilibrium() -> tuple[s.MoistureEquilibriumRow, ...]:
    return load_rows("moisture_equilibrium", s.MoistureEquilibriumRow)


@cache
def sealed_container_moisture() -> tuple[s.SealedMoistureRow, ...]:
    return load_rows("sealed_container_moisture", s.SealedMoistureRow)


@cache
def low_moisture_limits() -> tuple[s.LowMoistureRow, ...]:
    return load_rows("low_moisture_limits", s.LowMoistureRow)


@cache
def storage_trial_110_days() -> tuple[s.StorageTrialRow, ...]:
    return load_rows("storage_trial_110_days", s.StorageTrialRow)


@cache
def genebank_sequential_test() -> tuple[s.SequentialStepRow, ...]:
    return load_rows("genebank_sequential_test", s.SequentialStepRow)


@cache
def regeneration_thresholds() -> tuple[s.RegenerationThresholdRow, ...]:
    return load_rows("regeneration_thresholds", s.RegenerationThresholdRow)


@cache
def replicate_tolerance() -> tuple[s.ReplicateToleranceRow, ...]:
    return load_rows("replicate_tolerance", s.ReplicateToleranceRow)


@cache
def ista_replicate_tolerance() -> tuple[s.IstaToleranceRow, ...]:
    return load_rows("ista_replicate_tolerance", s.IstaToleranceRow)


@cache
def test_tolerances() -> tuple[s.BetweenTestsToleranceRow, ...]:
    return load_rows("test_tolerances", s.BetweenTestsToleranceRow)


@cache
def published_checks() -> tuple[s.PublishedCheckRow, ...]:
    return load_rows("published_checks", s.PublishedCheckRow)


@cache
def passport_descriptors() -> tuple[p.DescriptorRow, ...]:
    return load_rows("passport_descriptors", p.DescriptorRow)


@cache
def passport_codes() -> tuple[p.DescriptorCodeRow, ...]:
    return load_rows("passport_codes", p.DescriptorCodeRow)


@cache
def written_amounts() -> tuple[w.WrittenAmountRow, ...]:
    return load_rows("written_amounts", w.WrittenAmountRow)


LOADERS: Mapping[str, Callable[[], tuple[object, ...]]] = MappingProxyType(
    {
        "kinds": kinds,
        "kind_aliases": kind_aliases,
        "seed_units": seed_units,
        "kind_habits": kind_habits,
        "first_summer_perennials": first_summer_perennials,
        "kind_corrections": kind_corrections,
        "minimum_germination": minimum_germination,
        "state_minimum_germination": state_minimum_germination,
        "test_methods": test_methods,
        "test_method_codes": test_method_codes,
        "reproduction": reproduction,
        "flowering": flowering,
        "crossing_pairs": crossing_pairs,
        "wild_and_field_relatives": wild_and_field_relatives,
        "sowing": sowing,
        "heat_dormancy": heat_dormancy,
        "seed_weight": seed_weight,
        "days_to_emergence_by_temperature": days_to_emergence_by_temperature,
        "field_emergence": field_emergence,
        "seed_yield": seed_yield,
        "cautions": cautions,
        "viability_constants": viability_constants,
        "roberts1973_constants": roberts1973_constants,
        "constants_for_kind": constants_for_kind,
        "half_viability": half_viability,
        "longevity": longevity,
        "oil_content": oil_content,
        "moisture_equilibrium": moisture_equilibrium,
        "sealed_container_moisture": sealed_container_moisture,
        "low_moisture_limits": low_moisture_limits,
        "storage_trial_110_days": storage_trial_110_days,
        "genebank_sequential_test": genebank_sequential_test,
        "regeneration_thresholds": regeneration_thresholds,
        "replicate_tolerance": replicate_tolerance,
        "ista_replicate_tolerance": ista_replicate_tolerance,
        "test_tolerances": test_tolerances,
        "published_checks": published_checks,
        "passport_descriptors": passport_descriptors,
        "passport_codes": passport_codes,
        "written_amounts": written_amounts,
    }
)
"""Every packaged table by the name of its file."""
