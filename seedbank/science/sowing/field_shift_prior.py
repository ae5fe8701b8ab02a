"""Published starting point for the field shift, before this gardener has sown anything.

Factors printed as field emergence over laboratory germination become probit shifts at a
reference viability (``emergence.shift_of_factor``). A sowing's shift is

    shift = setting + temperature + kind + garden + season + sowing

with ``setting`` the shift of an average kind in such a bed (from the printed seedbed scale) and
``temperature`` from ``soil_warmth``. The rest are effects of mean 0, but for the kind's. Besides, a
sowing may fail outright (capped over, dried out, slugs): a tenth of it then comes up.

A kind's printed factor is a mean over years, cultivars and sites, so it is shrunk to the average of
all kinds by what is between kinds against what is between trials of one; a range printed over years
isn't the interval of one sowing and widens nothing. Spreads and chances of failure are our choice.

Data meant: field_emergence table (M. Bralewski & R. Holubowicz 2008 for open-field vegetables;
pulse and cereal guides; a recalled seedbed scale marked ``memory``). That a sowing's luck and
failures weigh more than soil temperature: weekly sowings of four vegetables, 1972-74 (abstract on
scilit.net, read).

Outside checks: the printed seedbed scale comes back; carrot's printed 0.446 becomes 0.64 beside the
recalled 0.7 of an average bed.
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

# All our choice, in probits.
BETWEEN_KINDS_SD = 0.25
_BETWEEN_TRIALS_SD = 0.45
GARDEN_SD = {"soil": 0.25, "compost": 0.20}
"""What differs between gardens, in the ground and in bought or own compost."""
SEASON_SD = 0.15
SOWING_SD = 0.25
WARMTH_DOUBT = 0.5
"""Of what the soil's temperature costs by trials in sand, so much again is its sd in a garden."""
_OF_COMPOST = {"kind": 0.75, "season": 1.0 / 3.0, "sowing": 0.8}
"""How much of an effect in the ground is left in compost."""
FAILURE = {"open": 0.08, "fine": 0.06, "cover": 0.03}
"""Chance that a sowing fails outright: in the open, in covered ground, in compost."""
FAILURE_WORTH = 25.0
"""That chance is known as if from so many sowings."""


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

    @property
    def medium(self) -> str:
        """What the seed lies in: ``compost`` of modules and trays, or the ``soil``."""
        compost = self.method == "module" or self.protection == "indoors"
        return "compost" if compost else "soil"

    @property
    def warmth_sd(self) -> float:
        """Doubt about what the soil's temperature costs, in probits."""
        return WARMTH_DOUBT * abs(self.temperature_shift or 0.0)

    @property
    def exposure(self) -> str:
        """What failing outright goes by, a key of ``FAILURE``."""
        if self.medium == "compost":
            return "cover"
        return "open" if self.protection == "open" else "fine"


@dataclass(frozen=True, slots=True)
class KindOffset:
    """A kind's shift beside the average one."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class ShiftPrior:
    """The published prior: seedbed scale and kinds' offsets. Build by calibration."""

    average: float
    fine: float
    under_cover: float
    kinds: Mapping[str, KindOffset] = field(default_factory=dict)

    def kind_offset(self, kind: str) -> KindOffset:
        """The kind's published offset, or 0 with the spread between kinds."""
        return self.kinds.get(kind, KindOffset(0.0, BETWEEN_KINDS_SD))

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

    def published_shift(self, conditions: SowingConditions) -> float:
        """Mean shift before any sowing of one's own, in probits."""
        kind = self.kind_offset(conditions.kind).mean * share_of("kind", conditions)
        warmth = conditions.temperature_shift or 0.0
        return self.setting_shift(conditions) + warmth + kind


def share_of(effect: str, conditions: SowingConditions) -> float:
    """How much of an effect (``garden``, ``kind``, ``season``, ``sowing``) acts on a sowing."""
    return _OF_COMPOST.get(effect, 1.0) if conditions.medium == "compost" else 1.0


def calibrate_shift_prior(factors: Sequence[FieldFactor]) -> ShiftPrior:
    """Seedbed scale and kind offsets from printed factors.

    A kind with a range but no printed mean takes the range's middle in probits. Raises
    ``ValueError`` when a seedbed step is missing.
    """
    average, fine, cover = (_step(factors, name) for name in ("average", "fine", "under-cover"))
    between, within = BETWEEN_KINDS_SD**2, _BETWEEN_TRIALS_SD**2
    share = between / (between + within)
    sd = math.sqrt(share * within)
    kinds = {
        kind: KindOffset(share * (shift - average), sd)
        for kind, shift in _kind_shifts(factors).items()
    }
    return ShiftPrior(average, fine, cover, kinds)


def _step(factors: Sequence[FieldFactor], setting: str) -> float:
    found = [f.factor for f in factors if f.setting == setting and f.factor is not None]
    if not found:
        raise ValueError(f"no factor for the {setting!r} seedbed")
    return float(np.mean(shift_of_factor(found)))


def _kind_shifts(factors: Sequence[FieldFactor]) -> dict[str, float]:
    """Mean shift of each kind with a figure of its own."""
    found: dict[str, list[float]] = {}
    for row in factors:
        if row.setting != "field":
            continue
        if row.factor is not None:
            found.setdefault(row.kind, []).append(float(shift_of_factor(row.factor)))
        elif row.low is not None and row.high is not None:
            ends = shift_of_factor([row.low, row.high])
            found.setdefault(row.kind, []).append(float(ends.mean()))
    return {kind: float(np.mean(shifts)) for kind, shifts in found.items()}
