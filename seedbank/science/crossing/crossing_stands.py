"""What flowers near a seed crop, and what a crossing check says of it."""

from dataclasses import dataclass
from enum import StrEnum

from seedbank.science.crossing.crossing_risk import (
    Carrier,
    Likelihood,
    Mating,
    Relation,
    Requirement,
)
from seedbank.science.crossing.flowering_days import DayWindow
from seedbank.science.quantities import Finding


class Way(StrEnum):
    """What keeps foreign pollen away."""

    DISTANCE = "distance"
    TIME = "time"
    CAGE = "cage"
    BAG = "bag"
    HAND_POLLINATION = "hand-pollination"
    ONLY_VARIETY = "only-variety"


class StandIs(StrEnum):
    """Why a stand flowers: saved for seed, left to run to seed, self-sown, a neighbour's, wild."""

    SEED_CROP = "seed-crop"
    LEFT_TO_RUN = "left-to-run"
    SELF_SOWN = "self-sown"
    NEIGHBOUR = "neighbour"
    WILD = "wild"


class Standing(StrEnum):
    """Whether seed is free of crossing as far as is known."""

    ISOLATED = "isolated"
    RISK = "risk"


@dataclass(frozen=True, slots=True)
class FloweringStand:
    """Plants of one variety in flower at one place in one year.

    ``variety`` is any key; None is unknown and differs from every other. ``flowering`` None and
    ``distance_m`` None (metres to the seed crop) are unknown. ``covered`` says that it stands in a
    cage of its own, which keeps its pollen in unless the wind carries it.
    """

    name: str
    group: str
    variety: str | int | None
    kind: str
    flowering: DayWindow | None
    distance_m: float | None = 0.0
    what: StandIs = StandIs.SEED_CROP
    mating: Mating = Mating.OUTCROSSING
    carrier: Carrier = Carrier.INSECT
    plants: int | None = None
    covered: bool = False

    def __post_init__(self) -> None:
        if self.distance_m is not None and not self.distance_m >= 0.0:
            raise ValueError(f"a distance must be 0 m or more, got {self.distance_m!r}")
        if self.plants is not None and self.plants < 0:
            raise ValueError(f"plants must not be negative, got {self.plants!r}")


@dataclass(frozen=True, slots=True)
class Exposure:
    """One stand whose pollen could make seed on the target, and what comes of it.

    ``shared`` are the windows both flower, ``shared_days`` their length and ``shared_share`` their
    share of the target's days; where a window is unknown the share is 1. ``risk`` is the index of
    ``crossing_risk``. ``isolated_by`` is empty exactly where ``likelihood`` isn't none. Each of
    ``mends`` would end the risk; ``stop-flowering`` carries ``before_day``, the day of the year
    before which it must be done, not finite where neither window is known.
    """

    stand: FloweringStand
    relation: Relation
    required_m: float
    shared: tuple[DayWindow, ...]
    shared_days: int
    shared_share: float
    isolated_by: tuple[Way, ...]
    risk: float
    likelihood: Likelihood
    mends: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class CrossingCheck:
    """All stands that may cross with a seed crop, the worst first, and the verdict on it.

    ``standing`` is risk if any of them isn't isolated, however unlikely; ``worst`` says how
    likely. ``isolated_by`` names what keeps the seed true, empty at risk.
    """

    target: FloweringStand
    requirement: Requirement
    exposures: tuple[Exposure, ...]
    standing: Standing
    worst: Likelihood
    isolated_by: tuple[Way, ...]
    cautions: tuple[Finding, ...]

    @property
    def risks(self) -> tuple[Exposure, ...]:
        """The stands it isn't isolated from, the worst first."""
        return tuple(e for e in self.exposures if not e.isolated_by)
