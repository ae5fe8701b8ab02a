"""What is published about how long a kind keeps, and how damp its seed lies."""

import re
from dataclasses import dataclass
from typing import TypeVar

from seedbank.facts import loaders
from seedbank.facts.names import evidence, nearest
from seedbank.facts.sources import Confidence, Fact, Span, Spread
from seedbank.facts.storage_rows import (
    ConstantsChoiceRow,
    HalfViabilityRow,
    OilContentRow,
    Roberts1973Row,
    ViabilityConstantsRow,
)
from seedbank.facts.tables import span

V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class ViabilityConstants:
    """log10 sigma(days) = k_e - c_w log10 m - c_h t - c_q t^2; m % fresh weight, t in C.

    Standard errors and fitted ranges are None where not printed. ``unsure`` marks a doubtful
    recollection: show the mark wherever it is used.
    """

    k_e: float
    c_w: float
    c_h: float
    c_q: float
    constants_kind: str
    unsure: bool
    k_e_se: float | None = None
    c_w_se: float | None = None
    fitted_moisture_pct: Span | None = None
    fitted_temp_c: Span | None = None


@dataclass(frozen=True, slots=True)
class OlderConstants:
    """Roberts 1973: log10 p50(days) = k_v - c_1 m - c_2 t; m % fresh weight, t in C."""

    k_v: float
    c_1: float
    c_2: float
    constants_kind: str


@dataclass(frozen=True, slots=True)
class HalfViability:
    """Years until half are dead, or only a relative class; conditions None where not printed."""

    p50_years: float | None
    storage: str
    temp_c: float | None
    rh_pct: float | None
    moisture_pct: float | None
    relative_class: str | None
    unsure: bool


@dataclass(frozen=True, slots=True)
class Longevity:
    """Years a kind is said to keep, and under what conditions or meaning."""

    years_low: float
    years_high: float
    conditions: str


@dataclass(frozen=True, slots=True)
class MoisturePoint:
    """Seed moisture in % fresh weight in balance with air; ``temp_c`` None if not stated."""

    rh_pct: float
    temp_c: float | None
    moisture_pct: float


_NUMBER = r"(\d+(?:\.\d+)?)"


def _found(pattern: str, text: str) -> float | None:
    hit = re.search(pattern, text)
    return float(hit[1]) if hit else None


def _fitted(pattern: str, text: str) -> Span | None:
    hit = re.search(rf"(?<![\d.])(\d+(?:\.\d+)?(?:-\d+(?:\.\d+)?)?) {pattern}", text)
    return span(hit[1]) if hit else None


def viability_constants(slug: str) -> Fact[ViabilityConstants] | None:
    """The set chosen for a kind by ``constants_for_kind.csv``; None when there is none."""
    for choice in _choices(slug, "viability_constants"):
        for row in loaders.viability_constants():
            if row.kind == choice.constants_kind and choice.source_contains in row.source.text:
                value = _constants(row)
                if value is not None:
                    return _chosen(choice, row, value)
    return None


def _choices(slug: str, table: str) -> list[ConstantsChoiceRow]:
    rows = loaders.constants_for_kind()
    return [row for row in rows if (row.slug, row.table) == (slug, table)]


def _constants(row: ViabilityConstantsRow) -> ViabilityConstants | None:
    if row.k_e is None or row.c_w is None or row.c_h is None or row.c_q is None:
        return None
    return ViabilityConstants(
        row.k_e,
        row.c_w,
        row.c_h,
        row.c_q,
        row.kind,
        "UNSURE" in row.notes,
        _found(rf"s\.e\. k_e {_NUMBER}", row.notes),
        _found(rf"s\.e\. c_w {_NUMBER}", row.notes),
        _fitted("% m", row.notes),
        _fitted("C\\b", row.notes),
    )


def _chosen(
    choice: ConstantsChoiceRow, row: ViabilityConstantsRow | Roberts1973Row, value: V
) -> Fact[V]:
    borrowed = "" if choice.basis == "own" else f"{choice.basis}: {row.kind}"
    note = "; ".join(part for part in (borrowed, choice.reason, row.notes) if part)
    return Fact(value, row.source.text, row.source.confidence, note, choice.basis)


def older_constants(slug: str) -> Fact[OlderConstants] | None:
    """Constants of the 1973 equation, for kinds without better ones."""
    for choice in _choices(slug, "roberts1973_constants"):
        for row in loaders.roberts1973_constants():
            if row.kind == choice.constants_kind:
                return _chosen(choice, row, OlderConstants(row.k_v, row.c_1, row.c_2, row.kind))
    return None


def half_viability(slug: str) -> tuple[Fact[HalfViability], ...]:
    """Every half-viability row of the kind or its species, with the storage it was seen in."""
    found = evidence(loaders.half_viability, slug)
    return tuple(match.fact(_half(match.row), match.row.notes) for match in found)


def _half(row: HalfViabilityRow) -> HalfViability:
    relative = re.search(r"relative class: ([a-z ]+)", row.notes)
    printed = row.storage if "genebank" not in row.storage else ""
    return HalfViability(
        row.p50_years,
        row.storage,
        _found(rf"^{_NUMBER} (?:\+/- \S+ )?C", printed),
        _found(rf"{_NUMBER} (?:\+/- \S+ )?% RH", printed),
        _found(rf"= {_NUMBER} % fresh weight", printed),
        relative[1].strip() if relative else None,
        "UNSURE" in row.notes,
    )


def longevity(slug: str) -> tuple[Fact[Longevity], ...]:
    """Every list that says how many years the kind or its species keeps."""
    printed = [
        match.fact(
            Longevity(match.row.typical_years_low, match.row.typical_years_high, match.row.notes)
        )
        for match in evidence(loaders.longevity, slug)
    ]
    for match in evidence(loaders.more_longevity, slug):
        ends = [end for end in (match.row.years_low, match.row.years_high) if end is not None]
        years = Longevity(ends[0], ends[-1], match.row.notes)
        printed.append(match.fact(years, match.row.notes))
    return tuple(printed)


def oil_content_pct(slug: str) -> Fact[Spread] | None:
    """Oil in % of dry weight: a read typical before a recalled one, the range over all rows."""
    found = nearest(loaders.oil_content, slug)
    typical = [match for match in found if match.row.oil_pct is not None]
    if not typical:
        return None
    best = min(typical, key=lambda match: match.row.source.confidence is not Confidence.READ)
    values = [value for match in found for value in _oil_values(match.row)]
    note = f"{best.row.notes}; range over {len(found)} rows"
    return best.fact(Spread(best.row.oil_pct or 0.0, min(values), max(values)), note)


def _oil_values(row: OilContentRow) -> list[float]:
    printed = (row.oil_pct, row.oil_pct_low, row.oil_pct_high)
    return [value for value in printed if value is not None]


def moisture_equilibrium(slug: str) -> tuple[Fact[MoisturePoint], ...]:
    """Points of the moisture isotherm, driest air first."""
    found = nearest(loaders.moisture_equilibrium, slug)
    ordered = sorted(found, key=lambda match: match.row.rh_pct)
    return tuple(
        match.fact(
            MoisturePoint(match.row.rh_pct, match.row.temp_c, match.row.moisture_pct),
            match.row.notes,
        )
        for match in ordered
    )


def sealed_moisture_pct(slug: str) -> Fact[float] | None:
    """Most moisture (% fresh weight) at which a packet may be sealed."""
    found = nearest(loaders.sealed_container_moisture, slug)
    return found[0].fact(found[0].row.max_moisture_pct, found[0].row.notes) if found else None


def low_moisture_limit_pct(slug: str) -> Fact[Span] | None:
    """Seed moisture (% fresh weight) below which drier seed keeps no longer."""
    for match in nearest(loaders.low_moisture_limits, slug):
        limit = span(match.row.critical_moisture_pct)
        if limit is not None:
            return match.fact(limit)
    return None
