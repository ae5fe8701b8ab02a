"""The same answer as a row, stations, cells or a bed: how thick, how long, how many.

Pure arithmetic on top of ``seed_need``, except stations and cells, where each place's chance of
at least one plant is 1 - P(0 plants) of its units and the number of places filled is binomial
given what is known of emergence, mixed exactly.

Outside checks: scipy's binomial, a printed cereal seed-rate example.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import bdtrc

from seedbank.science.quantities import USUAL_CONFIDENCE, FloatArray, Interval
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import patch_pmf
from seedbank.science.sowing.plant_counts import CountLaw, plants_law
from seedbank.science.sowing.seed_need import check_wanted

_MOST_PER_STATION = 15

STATIONS_FILLED = 0.95
"""Share of stations that are to have a plant where nobody asks otherwise: our choice."""


@dataclass(frozen=True, slots=True)
class ThousandSeedWeight:
    """Thousand-seed weight in grams with the range it is known to."""

    typical_g: float
    low_g: float
    high_g: float


@dataclass(frozen=True, slots=True)
class Grams:
    """Weight of the seed to sow, and its range from the thousand-seed weight's."""

    typical_g: float
    low_g: float
    high_g: float


@dataclass(frozen=True, slots=True)
class RowLayout:
    """A row thinned to the final spacing: its length and how thickly to sow."""

    row_m: float
    seeds_per_m: float
    cm_between_seeds: float
    final_spacing_cm: float


@dataclass(frozen=True, slots=True)
class StationLayout:
    """Stations that can be sown, with the units at each.

    ``reached`` is P(at least ``share`` of the stations asked for filled).
    """

    stations: int
    seeds_per_station: int
    seeds: int
    share: float
    reached: float
    attained: bool
    filled: Interval


@dataclass(frozen=True, slots=True)
class CellBounds:
    """At most so many units ``each`` and ``cells``; None: twice the plants (our choice)."""

    each: int = 6
    cells: int | None = None


@dataclass(frozen=True, slots=True)
class CellLayout:
    """Module cells and units a cell; ``reached`` is P(at least the wanted cells filled)."""

    cells: int
    seeds_per_cell: int
    seeds: int
    reached: float
    attained: bool


@dataclass(frozen=True, slots=True)
class BedLayout:
    """A broadcast bed."""

    area_m2: float
    seeds_per_m2: float


def seed_grams(seeds: int, weight: ThousandSeedWeight) -> Grams:
    """Grams of ``seeds`` units from a thousand-seed weight."""
    scale = seeds / 1000.0
    return Grams(scale * weight.typical_g, scale * weight.low_g, scale * weight.high_g)


def lay_out_row(seeds: int, plants: int, final_spacing_cm: float) -> RowLayout:
    """Row for ``plants`` at ``final_spacing_cm`` sown with ``seeds``; both at least 1."""
    if seeds < 1 or plants < 1 or final_spacing_cm <= 0.0:
        raise ValueError(f"need seeds, plants and spacing: {seeds, plants, final_spacing_cm}")
    row_m = plants * final_spacing_cm / 100.0
    return RowLayout(row_m, seeds / row_m, 100.0 * row_m / seeds, final_spacing_cm)


def lay_out_bed(seeds: int, plants: int, plants_per_m2: float) -> BedLayout:
    """Broadcast bed for ``plants`` at a final density."""
    if seeds < 1 or plants < 1 or plants_per_m2 <= 0.0:
        raise ValueError(f"need seeds, plants and density: {seeds, plants, plants_per_m2}")
    area = plants / plants_per_m2
    return BedLayout(area, seeds / area)


def chance_filled(chance: FloatArray, units: int, rho: float) -> FloatArray:
    """P(at least one plant at a place of ``units``) for each chance, shape as ``chance``."""
    if rho == 0.0:
        return np.asarray(-np.expm1(units * np.log1p(-np.minimum(chance, 1.0 - 1e-15))))
    return np.asarray(1.0 - patch_pmf(chance, units, rho)[:, 0])


def places_filled(
    emergence: WeightedNodes, places: int, units: int, wanted: int, rho: float
) -> float:
    """P(at least ``wanted`` of ``places`` places have a plant)."""
    if wanted <= 0:
        return 1.0
    if wanted > places:
        return 0.0
    filled = chance_filled(emergence.value, units, rho)
    return min(float(emergence.weight @ bdtrc(float(wanted - 1), places, filled)), 1.0)


def sure_places(
    emergence: WeightedNodes, places: int, units: int, confidence: float, rho: float
) -> int:
    """Largest number of places filled with at least ``confidence``."""
    return _filled(emergence, places, units, rho).surely(confidence)


def lay_out_stations(
    emergence: WeightedNodes,
    stations: int,
    confidence: float = USUAL_CONFIDENCE,
    share: float = STATIONS_FILLED,
    rho: float = 0.0,
    available: int | None = None,
) -> StationLayout:
    """Fewest units a station so that ``share`` of stations fill with ``confidence``.

    ``rho`` is the correlation within a station. Where neither the seed at hand nor fifteen a
    station will do, the most that may be sown and what that gives (``attained`` False).
    """
    check_wanted(stations, confidence)
    if stations < 1:
        raise ValueError(f"at least one station is needed, got {stations!r}")
    wanted = math.ceil(share * stations - 1e-9)
    # With fewer seeds than stations some stay empty: one seed each as far as they go.
    places = stations if available is None else min(stations, available)
    most = _MOST_PER_STATION
    if available is not None:
        most = max(1, min(most, available // stations))
    units, reached = 1, places_filled(emergence, places, 1, wanted, rho)
    while reached < confidence and units < most:
        units += 1
        reached = places_filled(emergence, places, units, wanted, rho)
    layout = stations_of(emergence, places, units, rho, (reached, reached >= confidence))
    return replace(layout, share=share)


def stations_of(
    emergence: WeightedNodes, places: int, units: int, rho: float, reached: tuple[float, bool]
) -> StationLayout:
    """``places`` stations of ``units``, where the chance of enough, and whether that does, is
    known."""
    filled = _filled(emergence, places, units, rho).summary().range
    return StationLayout(places, units, units * places, STATIONS_FILLED, *reached, filled)


def _filled(emergence: WeightedNodes, places: int, units: int, rho: float) -> CountLaw:
    """How many places have a plant."""
    filled = chance_filled(emergence.value, units, rho)
    return plants_law(WeightedNodes(filled, emergence.weight), places)


def lay_out_cells(
    emergence: WeightedNodes,
    plants: int,
    confidence: float = USUAL_CONFIDENCE,
    rho: float = 0.0,
    available: int | None = None,
    bounds: CellBounds = CellBounds(),
) -> CellLayout:
    """Cells and units a cell giving ``plants`` filled cells with ``confidence``, least seed.

    Ties go to fewer cells. Where nothing within the limits will do, the plan with the best
    chance (``attained`` False).
    """
    check_wanted(plants, confidence)
    limit = 2 * plants if bounds.cells is None else bounds.cells
    plans = []
    for units in range(1, bounds.each + 1):
        top = limit if available is None else min(limit, available // units)
        if top >= 1:
            plans.append(_cells_for(emergence, plants, confidence, units, top, rho))
    if not plans:
        return CellLayout(0, 1, 0, 1.0 if plants == 0 else 0.0, plants == 0)
    done = [plan for plan in plans if plan.attained]
    if done:
        return min(done, key=lambda plan: (plan.seeds, plan.cells))
    return max(plans, key=lambda plan: (plan.reached, -plan.seeds))


def _cells_for(
    emergence: WeightedNodes, plants: int, confidence: float, units: int, top: int, rho: float
) -> CellLayout:
    reached = places_filled(emergence, top, units, plants, rho)
    if reached < confidence:
        return CellLayout(top, units, top * units, reached, False)
    low, high = plants - 1, top
    while high - low > 1:
        middle = (low + high) // 2
        if places_filled(emergence, middle, units, plants, rho) >= confidence:
            high = middle
        else:
            low = middle
    reached = places_filled(emergence, high, units, plants, rho)
    return CellLayout(high, units, high * units, reached, True)
