"""The packaged kinds, found by slug or by any name a gardener may use, each value with its
source.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from seedbank.facts import growing, loaders, methods, storage_life, trials
from seedbank.facts.flowering import flowering
from seedbank.facts.growing import EmergenceAtTemperature, FieldEmergence, SeedYield
from seedbank.facts.kind_rows import KindRow
from seedbank.facts.methods import GerminationMethod, Remedy, TemperatureRegime
from seedbank.facts.names import kinds_meant, kinds_near
from seedbank.facts.sources import Confidence, Fact, Span, Spread
from seedbank.facts.storage_life import (
    HalfViability,
    Longevity,
    MoisturePoint,
    OlderConstants,
    ViabilityConstants,
)
from seedbank.facts.tables import parts
from seedbank.facts.trials import (
    CrossingAtDistance,
    GerminationTemperatures,
    IsolationRule,
    SeedMaturity,
)
from seedbank.science.crossing.flowering_days import DayWindow


class KeptAs(StrEnum):
    """What is kept of a kind from year to year: seed, or planting stock."""

    SEED = "seed"
    TUBERS = "tubers"
    CLOVES = "cloves"
    BULBS = "bulbs"
    BULBILS = "bulbils"
    CROWNS = "crowns"
    OFFSETS = "offsets"
    CUTTINGS = "cuttings"


@dataclass(frozen=True, slots=True)
class KindFacts:
    """Facts about one kind. What isn't known is None, or an empty tuple for lists.

    ``storage_class`` orthodox | recalcitrant | unlisted; ``seed_unit`` seed | cluster;
    ``seedlings_per_unit`` counts seedlings from one germinated unit; ``counts_hard_seed`` says
    that hard seed counts towards the legal minimum; ``minimum_germination_pct`` is the one used
    (the gardener's own, else EU, else US, else a state's); ``half_viability`` and ``longevity``
    are rows of evidence, not one value. ``kept_as`` None: nobody said, it is taken for seed.
    ``planting_stock_years``: how long tubers, cloves … last between plantings. Units are in the
    names.
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
    kept_as: Fact[KeptAs] | None = None
    planting_stock_years: Fact[Span] | None = None
    # reproduction
    crossing_group: Fact[str] | None = None
    life_cycle: Fact[str] | None = None
    first_summer: Fact[bool] | None = None
    mating: Fact[str] | None = None
    pollination: Fact[str] | None = None
    flowering: Fact[DayWindow] | None = None
    isolation_home_m: Fact[float] | None = None
    isolation_strict_m: Fact[float] | None = None
    isolation_rules: tuple[Fact[IsolationRule], ...] = ()
    crossing_at_distances: tuple[Fact[CrossingAtDistance], ...] = ()
    seed_parents_viable: Fact[int] | None = None
    seed_parents_maintain: Fact[int] | None = None
    seed_parents_rare: Fact[int] | None = None
    seed_parents_practical: Fact[int] | None = None
    years_between_seed_crops: Fact[Span] | None = None
    seed_yield: tuple[Fact[SeedYield], ...] = ()
    seed_maturity: tuple[Fact[SeedMaturity], ...] = ()
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
    dormancy_needs: tuple[Fact[str], ...] = ()
    # keeping
    viability_constants: Fact[ViabilityConstants] | None = None
    older_constants: Fact[OlderConstants] | None = None
    half_viability: tuple[Fact[HalfViability], ...] = ()
    longevity: tuple[Fact[Longevity], ...] = ()
    oil_content_pct: Fact[Spread] | None = None
    moisture_equilibrium: tuple[Fact[MoisturePoint], ...] = ()
    sealed_moisture_pct: Fact[float] | None = None
    low_moisture_limit_pct: Fact[Span] | None = None
    drying: tuple[Fact[str], ...] = ()
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
    heat_dormancy_c: Fact[Span] | None = None
    germination_temperatures: tuple[Fact[GerminationTemperatures], ...] = ()
    emergence_by_temperature: tuple[Fact[EmergenceAtTemperature], ...] = ()
    field_emergence: tuple[Fact[FieldEmergence], ...] = ()

    def is_planting_stock(self, kept_as: KeptAs | None) -> bool:
        """Whether a lot is planting stock: ``kept_as`` as it says, else as its kind usually is."""
        usual = KeptAs.SEED if self.kept_as is None else self.kept_as.value
        return (kept_as or usual) is not KeptAs.SEED

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


__all__ = ["KindFacts", "UnknownKind", "find_kind", "kind_facts", "packaged_kinds"]


class UnknownKind(Exception):  # noqa: N818 - reads as the sentence it raises
    """No packaged kind has this name, or it names several; ``close`` lists the slugs meant."""

    def __init__(self, name: str, close: tuple[str, ...], several: bool = False) -> None:
        problem = "names more than one kind" if several else "is not a packaged kind"
        hint = f"; did you mean {', '.join(close)}?" if close else ""
        super().__init__(f"{name!r} {problem}{hint}")
        self.name = name
        self.close = close
        self.several = several


class _PackagedKinds(Mapping[str, KindFacts]):
    """Each kind's facts are gathered when they are first asked for."""

    def __init__(self) -> None:
        self._rows = {row.slug: row for row in sorted(loaders.kinds(), key=lambda row: row.slug)}
        self._gathered: dict[str, KindFacts] = {}

    def __getitem__(self, slug: str) -> KindFacts:
        if slug not in self._gathered:
            self._gathered[slug] = _gather(self._rows[slug])
        return self._gathered[slug]

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)


@cache
def packaged_kinds() -> Mapping[str, KindFacts]:
    """Every packaged kind by slug, in alphabetical order; read-only."""
    return _PackagedKinds()


def kind_facts(slug: str) -> KindFacts:
    """Facts of a packaged kind. Raises ``UnknownKind`` with the closest slugs."""
    try:
        return packaged_kinds()[slug]
    except KeyError:
        raise UnknownKind(slug, kinds_near(slug)) from None


def find_kind(text: str) -> KindFacts:
    """The kind a gardener's word means: ``courgette``, ``Eggplant``, ``Bean (runner)``, plurals.

    Raises ``UnknownKind`` when none is meant, or several are (``pumpkin`` may be any of three
    species, which cross differently).
    """
    slugs = kinds_meant(text)
    if len(slugs) == 1:
        return packaged_kinds()[next(iter(slugs))]
    if slugs:
        raise UnknownKind(text, tuple(sorted(slugs)), several=True)
    raise UnknownKind(text, kinds_near(text))


def _gather(row: KindRow) -> KindFacts:
    slug = row.slug

    def own(value: Any) -> Fact[Any]:
        return Fact(value, row.source.text, row.source.confidence)

    return KindFacts(
        slug=slug,
        name=row.name,
        botanical=own(row.botanical),
        family=own(row.family),
        group=own(row.group),
        storage_class=own(row.storage_class),
        seed_unit=own(row.seed_unit),
        seedlings_per_unit=seedlings_per_unit(slug),
        first_summer=growing.first_summer(slug),
        poisonous=own(row.poisonous),
        caution_topics=parts(row.caution_topics),
        **_planting_stock(slug),
        flowering=flowering(slug),
        seed_yield=growing.seed_yield(slug),
        seed_maturity=trials.seed_maturity(slug),
        dormancy_needs=trials.dormancy_needs(slug),
        drying=trials.drying(slug, row.storage_class == "orthodox"),
        germination_temperatures=trials.germination_temperatures(slug),
        **_saving(row),
        **_testing(row),
        **_keeping(row),
        **_sowing(slug),
    )


def _planting_stock(slug: str) -> dict[str, Any]:
    """What a kind is kept as that isn't usually kept as seed."""
    for row in loaders.planting_stock():
        if row.slug == slug:
            source = (row.source.text, row.source.confidence, row.notes)
            years = Fact(Span(row.years_low, row.years_high), *source)
            return {"kept_as": Fact(KeptAs(row.kept_as), *source), "planting_stock_years": years}
    return {}


def seedlings_per_unit(slug: str) -> Fact[Spread]:
    """Seedlings from one germinated unit; exactly one for a single seed."""
    for row in loaders.seed_units():
        if row.slug == slug:
            spread = Spread(row.seedlings_typical, row.seedlings_low, row.seedlings_high)
            return Fact(spread, row.source.text, row.source.confidence, row.notes)
    return Fact(Spread(1.0, 1.0, 1.0), "One seed gives one seedling", Confidence.COMPUTED)


def _saving(row: KindRow) -> dict[str, Any]:
    found = growing.reproduction(row.slug)
    at_home = {
        "seed_parents_practical": growing.seed_parents_practical(row.slug),
        "years_between_seed_crops": growing.years_between_seed_crops(row.slug),
    }
    if found is not None:
        crossed = trials.crossing_at_distances(found.crossing_group.value)
        return (
            {name: getattr(found, name) for name in found.__slots__}
            | at_home
            | {
                "crossing_at_distances": crossed,
                "isolation_rules": trials.isolation_rules(
                    row.slug, found.mating.value == "selfing"
                ),
            }
        )
    life_cycle, mating, pollination = growing.habit(row.slug) or (None, None, None)
    return at_home | {
        "crossing_group": growing.crossing_group(row),
        "life_cycle": life_cycle,
        "mating": mating,
        "pollination": pollination,
        "isolation_home_m": trials.isolation_home_m(row.slug),
        "isolation_rules": trials.isolation_rules(
            row.slug, mating is not None and mating.value == "selfing"
        ),
    }


def _testing(row: KindRow) -> dict[str, Any]:
    minima = growing.minima(row)
    facts: dict[str, Any] = {
        "minimum_germination_pct": minima.used,
        "minimum_germination_eu_pct": minima.eu,
        "minimum_germination_us_pct": minima.us,
        "minimum_germination_state_pct": minima.state,
    }
    found = methods.germination_methods(row.slug)
    if not found:
        return facts
    first, method = found[0], found[0].value

    def from_first(value: Any) -> Fact[Any]:
        return Fact(value, first.source, first.confidence, first.note, first.basis)

    return facts | {
        "test_substrata": from_first(method.substrata),
        "test_temperatures": from_first(method.temperatures),
        "first_count_days": (
            None if method.first_count_days is None else from_first(method.first_count_days)
        ),
        "final_count_days": from_first(method.final_count_days),
        "test_remedies": from_first(method.remedies),
        "counts_hard_seed": from_first(method.counts_hard_seed),
        "other_test_methods": found[1:],
    }


def _keeping(row: KindRow) -> dict[str, Any]:
    slug = row.slug
    return {
        "viability_constants": storage_life.viability_constants(slug),
        "older_constants": storage_life.older_constants(slug),
        "half_viability": storage_life.half_viability(slug),
        "longevity": storage_life.longevity(slug),
        "oil_content_pct": storage_life.oil_content_pct(slug),
        "moisture_equilibrium": storage_life.moisture_equilibrium(slug),
        "sealed_moisture_pct": storage_life.sealed_moisture_pct(slug)
        or trials.sealed_moisture_pct(slug, row.group),
        "low_moisture_limit_pct": storage_life.low_moisture_limit_pct(slug),
    }


def _sowing(slug: str) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "thousand_seed_weight_g": growing.thousand_seed_weight_g(slug),
        "emergence_by_temperature": growing.emergence_by_temperature(slug),
        "field_emergence": growing.field_emergence(slug),
        "heat_dormancy_c": growing.heat_dormancy_c(slug),
    }
    found = growing.sowing(slug)
    if found is None:
        return facts
    facts |= {name: getattr(found, name) for name in found.__slots__ if name != "method"}
    return facts | {"sowing_method": found.method}
