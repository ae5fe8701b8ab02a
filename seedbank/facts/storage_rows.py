"""Rows of the tables about storage life, seed moisture and the testing rules."""

from typing import NamedTuple

from seedbank.facts.sources import Basis, Source


class ViabilityConstantsRow(NamedTuple):
    """``viability_constants.csv``: log10 sigma(days) = k_e - c_w log10 m - c_h t - c_q t^2."""

    kind: str
    botanical: str
    k_e: float | None
    c_w: float | None
    c_h: float | None
    c_q: float | None
    notes: str
    source: Source


class Roberts1973Row(NamedTuple):
    """``roberts1973_constants.csv``: log10 p50(days) = k_v - c_1 m - c_2 t."""

    kind: str
    botanical: str
    k_v: float
    c_1: float
    c_2: float
    notes: str
    source: Source


class ConstantsChoiceRow(NamedTuple):
    """``constants_for_kind.csv``: which row of constants serves a kind, and on what ground."""

    slug: str
    table: str
    constants_kind: str
    source_contains: str
    basis: Basis
    reason: str
    source: Source


class HalfViabilityRow(NamedTuple):
    """``half_viability.csv``: years until half the seeds are dead, under the storage stated."""

    kind: str
    botanical: str
    p50_years: float | None
    storage: str
    notes: str
    source: Source


class LongevityRow(NamedTuple):
    """``longevity.csv``: years a kind is said to keep."""

    kind: str
    botanical: str
    typical_years_low: float
    typical_years_high: float
    notes: str
    source: Source


class OilContentRow(NamedTuple):
    """``oil_content.csv``: oil in % of dry seed weight."""

    kind: str
    botanical: str
    oil_pct: float | None
    oil_pct_low: float | None
    oil_pct_high: float | None
    notes: str
    source: Source


class MoistureEquilibriumRow(NamedTuple):
    """``moisture_equilibrium.csv``: seed moisture in % fresh weight at an air humidity."""

    kind: str
    botanical: str
    rh_pct: float
    temp_c: float | None
    moisture_pct: float
    notes: str
    source: Source


class SealedMoistureRow(NamedTuple):
    """``sealed_container_moisture.csv``: most moisture for a sealed packet, % fresh weight."""

    kind: str
    botanical: str
    max_moisture_pct: float
    notes: str
    source: Source


class LowMoistureRow(NamedTuple):
    """``low_moisture_limits.csv``: moisture below which drier is no better; text as printed."""

    kind: str
    botanical: str
    critical_moisture_pct: str
    equilibrium_rh_pct: str
    temp_c: str
    source: Source


class ReplicateToleranceRow(NamedTuple):
    """``replicate_tolerance.csv``: largest fair range between replicates of 100."""

    average_pct_high: int
    average_pct_low: int
    max_range_2_reps: int | None
    max_range_4_reps: int
    source: Source


class KeepingFitRow(NamedTuple):
    """``keeping_fit.csv``: what the fit over all kinds found; written by ``fit_keeping_table``.

    ``sort`` of evidence ``constants`` | ``half_viability`` | ``lists``, or empty: kinds at large.
    """

    figure: str
    sort: str
    value: float
    source: Source
