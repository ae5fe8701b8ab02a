"""What is published about sowing a kind, its legal minimum and keeping its seed true.

And what amounts come to that are written in words, as ``a packet`` or ``a few``.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from seedbank.facts import loaders
from seedbank.facts.descriptor_rows import Measure, WrittenAmountRow
from seedbank.facts.kind_rows import KindRow, SowingRow
from seedbank.facts.names import Match, evidence, matches, nearest
from seedbank.facts.sources import Confidence, Fact, Span, Spread
from seedbank.facts.tables import span

ANY_OTHER = "any other vegetable or herb"


@dataclass(frozen=True, slots=True)
class Minima:
    """Legal minimum germination in %, and ``used``: the EU's, else the US's, else a state's."""

    eu: Fact[float] | None
    us: Fact[float] | None
    state: Fact[float] | None

    @property
    def used(self) -> Fact[float] | None:
        return self.eu or self.us or self.state


@dataclass(frozen=True, slots=True)
class Sowing:
    """Depth and spacing in cm, soil temperatures in C."""

    depth_cm: Fact[float]
    in_row_cm: Fact[Spread]
    row_cm: Fact[Spread]
    method: Fact[str]
    soil_min_c: Fact[float]
    soil_opt_c: Fact[float] | None
    soil_range_c: Fact[Span] | None
    soil_max_c: Fact[float] | None


@dataclass(frozen=True, slots=True)
class EmergenceAtTemperature:
    """A sowing trial at one soil temperature; ``result`` emerged | none | percent_only |
    not_tested. Numbers are None where not printed."""

    soil_temp_c: float
    days: float | None
    emergence_pct: float | None
    result: str


@dataclass(frozen=True, slots=True)
class FieldEmergence:
    """Field emergence as a fraction of laboratory germination, under conditions."""

    conditions: str
    factor: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class SeedYield:
    """Seed from one plant, in seeds and in g; None where not printed."""

    seeds: Span | None
    grams: Span | None


@dataclass(frozen=True, slots=True)
class Reproduction:
    """Life cycle and mating, isolation in metres, seed parents in plants."""

    crossing_group: Fact[str]
    life_cycle: Fact[str]
    mating: Fact[str]
    pollination: Fact[str]
    isolation_home_m: Fact[float]
    isolation_strict_m: Fact[float]
    seed_parents_viable: Fact[int]
    seed_parents_maintain: Fact[int]
    seed_parents_rare: Fact[int]


def minima(kind: KindRow) -> Minima:
    """Legal minima of a kind; the states' "any other vegetable or herb" where nothing else is."""
    rows = nearest(loaders.minimum_germination, kind.slug)
    eu = next((m.fact(m.row.eu_min_pct) for m in rows if m.row.eu_min_pct is not None), None)
    us = next((m.fact(m.row.us_min_pct) for m in rows if m.row.us_min_pct is not None), None)
    states = nearest(loaders.state_minimum_germination, kind.slug)
    state = states[0].fact(states[0].row.min_pct, states[0].name) if states else None
    if eu is us is state is None and kind.group in ("vegetable", "herb"):
        state = _any_other()
    return Minima(eu, us, state)


def _any_other() -> Fact[float]:
    row = next(row for row in loaders.state_minimum_germination() if row.kind == ANY_OTHER)
    return Fact(row.min_pct, row.source.text, row.source.confidence, ANY_OTHER)


def sowing(slug: str) -> Sowing | None:
    """Depth, spacing and soil temperatures; spacing and temperature keep their own confidence."""
    found = nearest(loaders.sowing, slug)
    if not found:
        return None
    match = found[0]
    row = match.row
    heat = row.basis_temp
    soil_range = (
        Span(row.soil_range_low_c, row.soil_range_high_c)
        if row.soil_range_low_c is not None and row.soil_range_high_c is not None
        else None
    )
    return Sowing(
        match.fact(row.depth_cm, row.notes, row.basis_spacing),
        _spacing(match, row.in_row_cm, row.in_row_cm_range),
        _spacing(match, row.row_cm, row.row_cm_range),
        match.fact(row.method, "", row.basis_spacing),
        match.cell("soil_min_c", row.notes, heat),
        None if row.soil_opt_c is None else match.cell("soil_opt_c", row.notes, heat),
        None if soil_range is None else match.fact(soil_range, row.notes, heat),
        None if row.soil_max_c is None else match.fact(row.soil_max_c, row.notes, heat),
    )


def heat_dormancy_c(slug: str) -> Fact[Span] | None:
    """Warmth from which its seed may be put to sleep, and surely is; None: not known of it."""
    for row in loaders.year_habits():
        if (row.slug, row.habit) == (slug, "heat-dormant"):
            assert row.from_c is not None
            assert row.surely_c is not None
            limits = Span(row.from_c, row.surely_c)
            return Fact(limits, row.source.text, row.source.confidence, row.notes)
    return None


def _spacing(match: Match[SowingRow], typical: float, printed: str) -> Fact[Spread]:
    limits = span(printed)
    spread = Spread(typical) if limits is None else Spread(typical, limits.low, limits.high)
    return match.fact(spread, match.row.notes, match.row.basis_spacing)


def thousand_seed_weight_g(slug: str) -> Fact[Spread] | None:
    """Weight of a thousand seed units; the note says when the range is only recalled."""
    found = nearest(loaders.seed_weight, slug)
    if not found:
        return _weight_of_count(slug)
    row = found[0].row
    spread = Spread(
        row.thousand_seed_weight_g_typical,
        row.thousand_seed_weight_g_low,
        row.thousand_seed_weight_g_high,
    )
    basis = f"range from {row.range_basis}" if row.range_basis else "no range printed"
    reasons = [fix.reason for fix in found[0].amended.values()]
    return found[0].fact(spread, "; ".join(part for part in (row.notes, basis, *reasons) if part))


def _weight_of_count(slug: str) -> Fact[Spread] | None:
    for match in matches(loaders.more_seeds_per_gram, slug):
        count = span(match.row.seeds_per_gram)
        if count is not None:
            low, high = 1000.0 / count.high, 1000.0 / count.low
            spread = Spread((low * high) ** 0.5, low, high)
            return match.fact(spread, "computed from the seeds in a gram")
    return None


def emergence_by_temperature(slug: str) -> tuple[Fact[EmergenceAtTemperature], ...]:
    """Days and percent to emergence, coldest soil first."""
    found = sorted(
        nearest(loaders.days_to_emergence_by_temperature, slug), key=lambda m: m.row.soil_temp_c
    )
    return tuple(
        m.fact(
            EmergenceAtTemperature(
                m.row.soil_temp_c, m.row.days, m.row.emergence_pct, m.row.result
            ),
            m.row.notes,
        )
        for m in found
    )


SEED_TO_SEED_DAYS = Fact(
    36,
    "Williams & Hill 1986, Science 232:1385-1389: up to ten generations a year",
    Confidence.READ,
    "rapid-cycling Brassica rapa under lamps, bred for it; garden plants take far longer",
)
"""The fewest days published from sowing to ripe seed, of any plant grown for food."""


def fastest_emergence(trials: Iterable[Fact[EmergenceAtTemperature]]) -> Fact[float] | None:
    """Fewest days to emergence in a kind's sowing trials, at any soil temperature; or None."""
    days = [
        Fact(one.value.days, one.source, one.confidence, one.note, one.basis)
        for one in trials
        if one.value.days is not None
    ]
    return min(days, key=lambda fact: fact.value, default=None)


def field_emergence(slug: str) -> tuple[Fact[FieldEmergence], ...]:
    """Field emergence factors published for the kind or its species."""
    return tuple(
        m.fact(
            FieldEmergence(m.row.conditions, m.row.factor, m.row.factor_low, m.row.factor_high),
            m.row.notes,
        )
        for m in evidence(loaders.field_emergence, slug)
    )


def general_field_emergence() -> tuple[Fact[FieldEmergence], ...]:
    """Field factors printed for vegetables at large, by seedbed."""
    return tuple(
        Fact(
            FieldEmergence(row.conditions, row.factor, row.factor_low, row.factor_high),
            row.source.text,
            row.source.confidence,
            row.notes,
        )
        for row in loaders.field_emergence()
        if row.kind == "vegetables (any)"
    )


def under_cover_factor() -> Fact[float]:
    """Share of germinable seed that emerges in modules or trays under cover."""
    for fact in general_field_emergence():
        if "modules or trays under cover" in fact.value.conditions and fact.value.factor:
            return Fact(fact.value.factor, fact.source, fact.confidence, fact.note)
    raise LookupError("field_emergence.csv has no row for modules under cover")


def seed_yield(slug: str) -> tuple[Fact[SeedYield], ...]:
    """Seed from one plant; rows that give it only for a fruit or pod are left out."""
    facts = (
        m.fact(
            SeedYield(
                _maybe_span(m.row.seeds_per_plant_low, m.row.seeds_per_plant_high),
                _maybe_span(m.row.grams_per_plant_low, m.row.grams_per_plant_high),
            ),
            m.row.notes,
        )
        for m in evidence(loaders.seed_yield, slug)
    )
    return tuple(f for f in facts if f.value != SeedYield(None, None))


def _maybe_span(low: float | None, high: float | None) -> Span | None:
    if low is None and high is None:
        return None
    return Span(low if low is not None else high or 0.0, high if high is not None else low or 0.0)


def reproduction(slug: str) -> Reproduction | None:
    """Mating, isolation and seed parents; each figure keeps the confidence of its own column."""
    found = nearest(loaders.reproduction, slug)
    if not found:
        return None
    m = found[0]
    row = m.row
    return Reproduction(
        m.fact(row.crossing_group, row.notes),
        m.fact(row.life_cycle, row.notes),
        m.cell("mating", row.notes),
        m.cell("pollination", row.notes),
        m.cell("isolation_m_home", row.notes, row.basis_home),
        m.cell("isolation_m_strict", row.notes, row.basis_strict),
        m.cell("min_plants_viable", row.notes, row.basis_viable),
        m.cell("min_plants_maintain", row.notes, row.basis_maintain),
        m.cell("min_plants_rare", row.notes, row.basis_rare),
    )


def seed_parents_practical(slug: str) -> Fact[int] | None:
    """Plants a home saver takes seed from; None: no row, or its row gives none."""
    for m in matches(loaders.growing_calendar, slug):
        if m.row.parents_home_practical is not None:
            return m.fact(m.row.parents_home_practical)
    return None


def years_between_seed_crops(slug: str) -> Fact[Span] | None:
    """Years a home saver lets pass between two seed crops; None: no row."""
    for m in matches(loaders.growing_calendar, slug):
        ends = [float(part) for part in m.row.years_between_seed_crops.split("-") if part]
        if ends:
            return m.fact(Span(ends[0], ends[-1]))
    return None


def habit(slug: str) -> tuple[Fact[str], Fact[str], Fact[str]] | None:
    """Recalled life cycle, mating and pollination of kinds without a row of reproduction."""
    for row in loaders.kind_habits():
        if row.slug == slug:
            source, confidence = row.source.text, row.source.confidence
            return (
                Fact(row.life_cycle, source, confidence),
                Fact(row.mating, source, confidence),
                Fact(row.pollination, source, confidence),
            )
    return None


def first_summer(slug: str) -> Fact[bool] | None:
    """That a perennial flowers in the summer it is sown; None for every other kind."""
    return _has_habit(slug, "first-summer")


def frost_tender(slug: str) -> Fact[bool] | None:
    """That a frost kills the kind; None for every other."""
    return _has_habit(slug, "frost-tender")


def _has_habit(slug: str, habit: str) -> Fact[bool] | None:
    for row in loaders.year_habits():
        if (row.slug, row.habit) == (slug, habit):
            return Fact(True, row.source.text, row.source.confidence, row.notes)
    return None


def crossing_group(kind: KindRow) -> Fact[str]:
    """Genus and species as one group, where no table names a group."""
    words = [word for word in kind.botanical.lower().split() if word not in ("x", "spp.")]
    return Fact(
        "-".join(words[:2]),
        "Taken here from the botanical name",
        Confidence.COMPUTED,
        "one species taken as one crossing group",
    )


@cache
def _rows() -> dict[str, WrittenAmountRow]:
    return {row.words: row for row in loaders.written_amounts()}


def row_for(words: str) -> WrittenAmountRow:
    """The row of the table for these words, with its source. Raises KeyError: there is none."""
    row = _rows()[words]
    assert row.measure in Measure
    return row


def packet_row(tsw_g: float | None) -> WrittenAmountRow:
    """What a packet holds of seed of which a thousand weigh ``tsw_g`` (None: not known)."""
    size = "unknown"
    if tsw_g is not None:
        size = "large" if tsw_g >= 50 else "middling" if tsw_g >= 5 else "small"
    return row_for(f"packet of {size} seed")
