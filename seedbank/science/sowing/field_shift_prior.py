"""Published starting point for the field shift, before this gardener has sown anything.

Factors printed as field emergence over laboratory germination become probit shifts at a
reference viability (``emergence.shift_of_factor``). A sowing's shift is

    shift = c x (standard + garden + kind + method + protection + season + sowing) + temperature

with ``standard`` the shift of an average outdoor seedbed, ``c`` how harsh the setting is beside
it (from the printed seedbed scale), every other term an effect in standard units with the
spreads held here, and ``temperature`` from ``soil_warmth``.

Data meant: field_emergence table (M. Bralewski & R. Holubowicz 2008 for open-field vegetables;
pulse and cereal guides; a recalled seedbed scale marked ``memory``).

Outside checks: the printed factors and the printed seedbed scale come back.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from seedbank.science.sowing.emergence import shift_of_factor

METHODS = ("row", "station", "module", "broadcast")
PROTECTIONS = ("open", "fleece", "cold-frame", "tunnel", "indoors")
SEASONS = ("spring", "summer", "autumn", "winter")
SETTINGS = ("field", "poor", "average", "fine", "under-cover")

# A central 90 % interval is this many standard deviations wide; printed extremes over a few
# years and sites are read as such an interval. Our choice.
_SD_IN_RANGE = 3.29
# Effects other than the kind's published offset scale with the setting only down to here, so
# that a gardener's own bad compost can be learned. Our choice.
_LEAST_SCALE = 0.5


@dataclass(frozen=True, slots=True)
class FieldFactor:
    """One printed factor. ``setting`` is one of ``SETTINGS``; "field" is a kind's own figure."""

    kind: str
    setting: str
    factor: float | None
    low: float | None
    high: float | None

    def __post_init__(self) -> None:
        if self.setting not in SETTINGS:
            raise ValueError(f"setting {self.setting!r} is not one of {', '.join(SETTINGS)}")


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of the effects, in probits of the standard seedbed.

    Kind, garden and season-with-sowing come from printed ranges (``calibrate_shift_prior``);
    method, protection and the split of season from sowing are our choice.
    """

    garden: float = 0.35
    kind: float = 0.5
    method: float = 0.2
    protection: float = 0.2
    season: float = 0.2
    sowing: float = 0.3


@dataclass(frozen=True, slots=True)
class SowingConditions:
    """What is known of a sowing before anything comes up.

    ``year`` and ``season`` (one of ``SEASONS``) name the season; ``temperature_shift`` is in
    probits from ``soil_warmth.judge_soil``, None when the soil temperature is not known. Raises
    ``ValueError`` on an unknown word.
    """

    kind: str
    method: str
    protection: str
    year: int
    season: str
    temperature_shift: float | None = None

    def __post_init__(self) -> None:
        for value, allowed in (
            (self.method, METHODS),
            (self.protection, PROTECTIONS),
            (self.season, SEASONS),
        ):
            if value not in allowed:
                raise ValueError(f"{value!r} is not one of {', '.join(allowed)}")


@dataclass(frozen=True, slots=True)
class KindOffset:
    """A kind's shift beside the standard one."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class ShiftPrior:
    """The published prior: seedbed scale, kinds' offsets and spreads. Build by calibration."""

    average: float
    fine: float
    under_cover: float
    spreads: Spreads
    kinds: Mapping[str, KindOffset] = field(default_factory=dict)

    def kind_offset(self, kind: str) -> KindOffset:
        """The kind's published offset, or 0 with the spread between kinds."""
        return self.kinds.get(kind, KindOffset(0.0, self.spreads.kind))

    def setting_shift(self, conditions: SowingConditions) -> float:
        """Shift of the setting for the average kind, without temperature, in probits.

        Out of doors with the soil temperature known, the fine seedbed: the printed average
        already holds an ordinary spring's cold. Fleece, cold frame and tunnel lie between the
        printed steps (our choice); compost in modules counts as under cover, halfway so outside.
        """
        half_way = (self.fine + self.under_cover) / 2.0
        outdoors = self.average if conditions.temperature_shift is None else self.fine
        bed = {
            "open": outdoors,
            "fleece": (outdoors + self.fine) / 2.0,
            "cold-frame": half_way,
            "tunnel": half_way,
            "indoors": self.under_cover,
        }[conditions.protection]
        if conditions.method != "module":
            return bed
        return half_way if conditions.protection in ("open", "fleece") else self.under_cover

    def scales(self, conditions: SowingConditions) -> tuple[float, float]:
        """Multipliers of the kind's effect and of every other effect in this setting."""
        harsh = self.setting_shift(conditions) / self.average
        return harsh, max(harsh, _LEAST_SCALE)


def calibrate_shift_prior(factors: Sequence[FieldFactor]) -> ShiftPrior:
    """Seedbed scale, kind offsets and spreads from printed factors.

    Kinds: mean of each kind's shifts, shrunk to the standard by the spread between kinds
    against the spread within one (range of its factor; guide figures rounded to a narrower range
    than is usual count as the usual). A kind with a range but no printed mean
    takes the range's middle in probits. Raises ``ValueError`` when a seedbed step is missing or
    fewer than three kinds have factors.
    """
    average, fine = _step(factors, "average"), _step(factors, "fine")
    cover, poor = _step(factors, "under-cover"), _step(factors, "poor")
    measured = _kind_shifts(factors)
    if len(measured) < 3:
        raise ValueError("field factors of at least three kinds are needed")
    shifts = np.array([shift for shift, _ in measured.values()])
    widths = [width for _, width in measured.values() if width is not None]
    within = float(np.median(widths)) if widths else 0.36
    between = float(shifts.std(ddof=1))
    base = Spreads()
    spreads = Spreads(
        garden=(poor - fine) / 2.0,
        kind=between,
        season=within * base.season / math.hypot(base.season, base.sowing),
        sowing=within * base.sowing / math.hypot(base.season, base.sowing),
    )
    kinds = {
        kind: _shrunk(shift - average, max(width or 0.0, within), between)
        for kind, (shift, width) in measured.items()
    }
    return ShiftPrior(average, fine, cover, spreads, kinds)


def _step(factors: Sequence[FieldFactor], setting: str) -> float:
    found = [f.factor for f in factors if f.setting == setting and f.factor is not None]
    if not found:
        raise ValueError(f"no factor for the {setting!r} seedbed")
    return float(np.mean(shift_of_factor(found)))


def _kind_shifts(factors: Sequence[FieldFactor]) -> dict[str, tuple[float, float | None]]:
    """Mean shift, and sd within the kind (None if no range), by kind."""
    found: dict[str, tuple[list[float], list[float]]] = {}
    for row in factors:
        if row.setting != "field":
            continue
        shifts, widths = found.setdefault(row.kind, ([], []))
        if row.low is not None and row.high is not None:
            worst, best = shift_of_factor([row.low, row.high])
            widths.append(float(worst - best) / _SD_IN_RANGE)
            if row.factor is None:
                shifts.append(float(worst + best) / 2.0)
        if row.factor is not None:
            shifts.append(float(shift_of_factor(row.factor)))
    return {
        kind: (float(np.mean(shifts)), float(np.mean(widths)) if widths else None)
        for kind, (shifts, widths) in found.items()
        if shifts
    }


def _shrunk(offset: float, within: float, between: float) -> KindOffset:
    kept = between**2 / (between**2 + within**2)
    return KindOffset(kept * offset, float(np.sqrt(kept) * within))
