"""How a sowing is laid out, weighed, and held against one by feel, as answers."""

import math

import numpy as np

from seedbank.common.answers import FindingAnswer, PercentAnswer
from seedbank.emergence.tables import SowingMethod
from seedbank.lots.weighing import SeedWeight
from seedbank.science.germination.proportion import INTERVAL_REACH
from seedbank.science.quantities import INTERVAL_ENDS, INTERVAL_LEVEL, Interval
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.seed_need import SeedNeed
from seedbank.science.sowing.sowing import Seedbed, SowingAdvice
from seedbank.science.sowing.sowing_layout import (
    CellLayout,
    StationLayout,
    ThousandSeedWeight,
    chance_filled,
    lay_out_bed,
    lay_out_row,
    seed_grams,
)
from seedbank.science.sowing.usual_rate import UsualRange
from seedbank.sowing.answers import (
    BedAnswer,
    ByFeelAnswer,
    CellsAnswer,
    GramsAnswer,
    RowAnswer,
    StationsAnswer,
)
from seedbank.sowing.setting import Setting


def node_range(nodes: WeightedNodes) -> Interval:
    """Central 90 % interval of what the nodes describe."""
    order = np.argsort(nodes.value)
    reached = np.cumsum(nodes.weight[order])
    ends = np.minimum(np.searchsorted(reached, INTERVAL_ENDS), order.size - 1)
    low, high = nodes.value[order][ends]
    return Interval(float(low), float(high), INTERVAL_LEVEL)


def around(chance: float, low: float, high: float) -> PercentAnswer:
    """A chance with its interval, which a long tail may have to widen to hold the chance itself."""
    return PercentAnswer.of(chance, Interval(min(low, chance), max(high, chance), INTERVAL_LEVEL))


def row_answer(need: SeedNeed, setting: Setting, usual: UsualRange) -> RowAnswer | None:
    """The row, if it is sown in one; for what it may give where that isn't enough."""
    if setting.method is not SowingMethod.ROW:
        return None
    row = lay_out_row(need.seeds, _plants_to_place(need, usual), setting.spacing_cm)
    return RowAnswer(
        row_m=round(row.row_m, 2),
        seeds_per_m=round(row.seeds_per_m, 1),
        cm_between_seeds=round(row.cm_between_seeds, 2),
        final_spacing_cm=row.final_spacing_cm,
    )


def bed_answer(need: SeedNeed, setting: Setting, usual: UsualRange) -> BedAnswer | None:
    """The bed, if it is sown broadcast; for what it may give where that isn't enough."""
    if setting.method is not SowingMethod.BROADCAST:
        return None
    bed = lay_out_bed(need.seeds, _plants_to_place(need, usual), setting.plants_per_m2)
    return BedAnswer(
        area_m2=round(bed.area_m2, 2),
        seeds_per_m2=round(bed.seeds_per_m2, 1),
        final_spacing_cm=setting.spacing_cm,
    )


def _plants_to_place(need: SeedNeed, usual: UsualRange) -> int:
    """Room for the plants wanted, or where seed is short for as many as it sows at least as thickly
    as is usual."""
    return min(max(math.floor(need.seeds / usual.low), 1), need.wanted)


def stations_answer(
    advice: SowingAdvice, bed: Seedbed, emergence: WeightedNodes
) -> StationsAnswer | None:
    """The stations, if it is sown so; fewer than wanted where the seed runs out."""
    layout = advice.layout
    if not isinstance(layout, StationLayout):
        return None
    return StationsAnswer(
        stations=layout.stations,
        seeds_per_station=layout.seeds_per_station,
        filled_wanted_pct=100.0 * layout.share,
        station_filled=_place_filled(emergence, layout.seeds_per_station, bed.patches.rho),
        filled_low=int(layout.filled.low),
        filled_high=int(layout.filled.high),
        spacing_cm=bed.in_row_cm,
        row_m=round(layout.stations * bed.in_row_cm / 100.0, 2),
    )


def cells_answer(
    advice: SowingAdvice, bed: Seedbed, emergence: WeightedNodes
) -> CellsAnswer | None:
    """The cells, if it is sown so."""
    layout = advice.layout
    if not isinstance(layout, CellLayout):
        return None
    return CellsAnswer(
        cells=layout.cells,
        seeds_per_cell=layout.seeds_per_cell,
        cell_filled=_place_filled(emergence, layout.seeds_per_cell, bed.patches.rho),
        final_spacing_cm=bed.in_row_cm,
    )


def grams_answer(seeds: int, weight: SeedWeight | None) -> GramsAnswer | None:
    """Weight of the seed; None when nothing is known."""
    if weight is None:
        return None
    reach = min(INTERVAL_REACH * weight.tsw_se_g, weight.tsw_g)
    each = ThousandSeedWeight(weight.tsw_g, weight.tsw_g - reach, weight.tsw_g + reach)
    grams = seed_grams(seeds, each)
    return GramsAnswer(
        grams=_figures(grams.typical_g),
        low_g=_figures(grams.low_g),
        high_g=_figures(grams.high_g),
        level_pct=100.0 * INTERVAL_LEVEL,
        measured=weight.measured,
    )


def by_feel_answer(
    advice: SowingAdvice, emergence: WeightedNodes, seedlings_per_unit: float
) -> ByFeelAnswer | None:
    """Against sowing by feel; the seedlings' interval is that of emergence."""
    feel = advice.by_feel
    if feel is None:
        return None
    ends = node_range(emergence)
    saved = max(feel.seeds_saved, 0)  # sown thinner than advised, no thinning is saved
    more = sorted(saved * end * seedlings_per_unit for end in (ends.low, ends.high))
    return ByFeelAnswer(
        seeds_per_plant=round(feel.seeds_per_plant, 2),
        seeds=feel.seeds,
        seeds_saved=feel.seeds_saved,
        seedlings_not_thinned=round(feel.seedlings_not_thinned, 1),
        seedlings_not_thinned_low=round(more[0], 1),
        seedlings_not_thinned_high=round(more[1], 1),
        basis=FindingAnswer.of(feel.basis),
    )


def _place_filled(emergence: WeightedNodes, units: int, rho: float) -> PercentAnswer:
    filled = chance_filled(emergence.value, units, rho)
    spread = node_range(WeightedNodes(filled, emergence.weight))
    return PercentAnswer.of(float(emergence.weight @ filled), spread)


def _figures(grams: float) -> float:
    return float(f"{grams:.3g}")
