"""Everything the package knows about one crop kind, each value with its source."""

from dataclasses import dataclass

from seedbank.facts.growing import EmergenceAtTemperature, FieldEmergence, SeedYield
from seedbank.facts.methods import GerminationMethod, Remedy, TemperatureRegime
from seedbank.facts.sources import Fact, Span, Spread
from seedbank.facts.storage_life import (
    HalfViability,
    Longevity,
    MoisturePoint,
    OlderConstants,
    ViabilityConstants,
)
from seedbank.science.crossing.flowering_days import DayWindow


@dataclass(frozen=True, slots=True)
class KindFacts:
    """Facts about one kind. What isn't known is None, or an empty tuple for lists.

    ``storage_class`` orthodox | recalcitrant | unlisted; ``seed_unit`` seed | cluster;
    ``seedlings_per_unit`` counts seedlings from one germinated unit; ``counts_hard_seed`` says
    that hard seed counts towards the legal minimum; ``minimum_germination_pct`` is the one used
    (the gardener's own, else EU, else US, else a state's); ``half_viability`` and ``longevity``
    are rows of evidence, not one value. Units are in the names.
    """

    slug: str
    name: str
    botanical: Fact[str] | None
    family: Fact[str] | None
    group: Fact[str] | None
    storage_class: Fact[str]
    seed_unit: Fact[str]
    seedlings_per_unit: Fact[Spread]
    poisonous: Fact[bool] | None = None
    caution_topics: tuple[str, ...] = ()
    # reproduction
    crossing_group: Fact[str] | None = None
    life_cycle: Fact[str] | None = None
    first_summer: Fact[bool] | None = None
    mating: Fact[str] | None = None
    pollination: Fact[str] | None = None
    flowering: Fact[DayWindow] | None = None
    isolation_home_m: Fact[float] | None = None
    isolation_strict_m: Fact[float] | None = None
    seed_parents_viable: Fact[int] | None = None
    seed_parents_maintain: Fact[int] | None = None
    seed_parents_rare: Fact[int] | None = None
    seed_yield: tuple[Fact[SeedYield], ...] = ()
    # germination test
    minimum_germination_pct: Fact[float] | None = None
    minimum_germination_eu_pct: Fact[float] | None = None
    minimum_germination_us_pct: Fact[float] | None = None
    minimum_germination_state_pct: Fact[float] | None = None
    test_substrata: Fact[tuple[str, ...]] | None = None
    test_temperatures: Fact[tuple[TemperatureRegime, ...]] | None = None
    first_count_days: Fact[int] | None = None
    final_count_days: Fact[int] | None = None
    test_remedies: Fact[tuple[Remedy, ...]] | None = None
    counts_hard_seed: Fact[bool] | None = None
    other_test_methods: tuple[Fact[GerminationMethod], ...] = ()
    # keeping
    viability_constants: Fact[ViabilityConstants] | None = None
    older_constants: Fact[OlderConstants] | None = None
    half_viability: tuple[Fact[HalfViability], ...] = ()
    longevity: tuple[Fact[Longevity], ...] = ()
    oil_content_pct: Fact[Spread] | None = None
    moisture_equilibrium: tuple[Fact[MoisturePoint], ...] = ()
    sealed_moisture_pct: Fact[float] | None = None
    low_moisture_limit_pct: Fact[Span] | None = None
    # sowing
    thousand_seed_weight_g: Fact[Spread] | None = None
    depth_cm: Fact[float] | None = None
    in_row_cm: Fact[Spread] | None = None
    row_cm: Fact[Spread] | None = None
    sowing_method: Fact[str] | None = None
    soil_min_c: Fact[float] | None = None
    soil_opt_c: Fact[float] | None = None
    soil_range_c: Fact[Span] | None = None
    soil_max_c: Fact[float] | None = None
    emergence_by_temperature: tuple[Fact[EmergenceAtTemperature], ...] = ()
    field_emergence: tuple[Fact[FieldEmergence], ...] = ()

    @property
    def cannot_be_stored(self) -> bool:
        """Whether drying kills its seed, so that it keeps a season at best."""
        return self.storage_class.value == "recalcitrant"

    @property
    def flowers_next_year(self) -> bool:
        """Whether plants sown this year flower the next: biennials, and perennials as a rule."""
        if self.life_cycle is None or self.life_cycle.value == "annual":
            return False
        return not (self.life_cycle.value == "perennial" and self.first_summer is not None)

    @property
    def may_flower_later(self) -> bool:
        """Whether that year is only the earliest: perennials may take longer, trees far longer."""
        perennial = self.life_cycle is not None and self.life_cycle.value == "perennial"
        return perennial and self.first_summer is None
