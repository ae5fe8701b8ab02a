"""What trials and seed growers say of a kind: warmth, distance, ripeness, drying, dormancy."""

from dataclasses import dataclass

from seedbank.facts import loaders
from seedbank.facts.names import matches
from seedbank.facts.sources import Fact, Span
from seedbank.facts.tables import span
from seedbank.facts.trial_rows import IsolationRuleRow

_EVERY_KIND = ("(all orthodox)", "(most seeds)", "(all)")
_ANY_VEGETABLE = "(any other vegetable)"
_SELFERS = "(selfers)"
_SEALED = "max_sealed_moisture_pct"


@dataclass(frozen=True, slots=True)
class GerminationTemperatures:
    """Temperatures in C of one trial: none below ``base_c`` or over the ceiling."""

    base_c: float | None
    optimum_c: Span | None
    ceiling_c: Span | None
    thermal_time: str
    what: str


@dataclass(frozen=True, slots=True)
class IsolationRule:
    """Metres from other flowering plants, for a class of seed crop."""

    seed_class: str
    metres: Span


@dataclass(frozen=True, slots=True)
class CrossingAtDistance:
    """Share of seed crossed, in %, at metres from the pollen."""

    distance_m: float
    crossed_pct: float


@dataclass(frozen=True, slots=True)
class SeedMaturity:
    """Ripe seed: its sign, days after flowering and moisture in %, as printed."""

    sign: str
    days_after_flowering: str
    seed_moisture_pct: str


def germination_temperatures(slug: str) -> tuple[Fact[GerminationTemperatures], ...]:
    return tuple(
        m.fact(
            GerminationTemperatures(
                m.row.base_c,
                _hull(m.row.optimum_low_c, m.row.optimum_high_c),
                span(m.row.ceiling_c),
                m.row.thermal_time,
                m.row.what,
            ),
            m.row.notes,
        )
        for m in matches(loaders.more_germination_temperatures, slug)
    )


def _hull(low: str, high: str) -> Span | None:
    ends = [one for one in (span(low), span(high)) if one is not None]
    return Span(min(e.low for e in ends), max(e.high for e in ends)) if ends else None


def isolation_rules(slug: str, selfing: bool) -> tuple[Fact[IsolationRule], ...]:
    """What is asked of a kind by class; of a selfing one also what holds for all that self."""
    rules = [
        m.fact(IsolationRule(m.row.class_, _metres(m.row)), m.row.notes)
        for m in matches(loaders.more_isolation_rules, slug)
    ]
    for row in loaders.more_isolation_rules():
        if selfing and row.kind == _SELFERS:
            rule = IsolationRule(row.class_, _metres(row))
            rules.append(Fact(rule, row.source.text, row.source.confidence, row.notes))
    return tuple(rules)


def _metres(row: IsolationRuleRow) -> Span:
    metres = span(row.isolation_m)
    assert metres is not None  # a test reads every row
    return metres


def isolation_home_m(slug: str) -> Fact[float] | None:
    """Metres asked of certified seed, for kinds no seed saver's figure is known of."""
    for m in matches(loaders.more_isolation_rules, slug):
        return m.fact(_metres(m.row).low, f"class: {m.row.class_}")
    return None


def crossing_at_distances(crossing_group: str) -> tuple[Fact[CrossingAtDistance], ...]:
    """Measured crossing of a crossing group, nearest first."""
    return tuple(
        Fact(
            CrossingAtDistance(row.distance_m, row.crossed_pct),
            row.source.text,
            row.source.confidence,
            row.notes,
        )
        for row in loaders.more_crossing_by_distance()
        if row.species == crossing_group
    )


def seed_maturity(slug: str) -> tuple[Fact[SeedMaturity], ...]:
    return tuple(
        m.fact(
            SeedMaturity(m.row.sign, m.row.days_after_flowering, m.row.seed_moisture_pct),
            m.row.notes,
        )
        for m in matches(loaders.more_seed_maturity, slug)
    )


def dormancy_needs(slug: str) -> tuple[Fact[str], ...]:
    return tuple(m.fact(m.row.need, m.row.notes) for m in matches(loaders.more_dormancy, slug))


def drying(slug: str, orthodox: bool) -> tuple[Fact[str], ...]:
    """How to dry and keep its seed; what holds for all seed that can be dried comes last."""
    own = [
        m.fact(f"{m.row.what}: {m.row.value}", m.row.notes)
        for m in matches(loaders.more_drying, slug)
        if m.row.what != _SEALED
    ]
    general = [
        Fact(f"{row.what}: {row.value}", row.source.text, row.source.confidence, row.notes)
        for row in loaders.more_drying()
        if orthodox and row.kind in _EVERY_KIND
    ]
    return (*own, *general)


def sealed_moisture_pct(slug: str, group: str) -> Fact[float] | None:
    """Most moisture for a sealed packet where the older table has none: the rule's own fallback."""
    for m in matches(loaders.more_drying, slug):
        if m.row.what == _SEALED:
            return m.fact(float(m.row.value), m.row.notes)
    if group != "vegetable":
        return None
    row = next(row for row in loaders.more_drying() if row.kind == _ANY_VEGETABLE)
    return Fact(float(row.value), row.source.text, row.source.confidence, row.notes)
