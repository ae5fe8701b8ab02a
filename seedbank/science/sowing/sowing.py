"""Sowing advice for one lot: how much, how laid out, what to thin, and what else to do.

Puts together the rate of least cost (``usual_rate``) or, where a confidence is asked for, the exact
need (``seed_need``), its layout (``sowing_layout``), the soil (``soil_warmth``) and alternatives.

Checked for hanging together; the numbers carry the outside checks of their own modules.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from seedbank.science.quantities import USUAL_CONFIDENCE, Finding, Value
from seedbank.science.sowing.emergence import (
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    emergence_nodes,
)
from seedbank.science.sowing.field_shift_prior import METHODS
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.plant_counts import plants_law
from seedbank.science.sowing.seed_need import (
    SeedNeed,
    check_wanted,
    describe_sowing,
    seeds_to_sow,
)
from seedbank.science.sowing.soil_warmth import UNFIT, SoilWarmth
from seedbank.science.sowing.sowing_layout import (
    BedLayout,
    CellBounds,
    CellLayout,
    RowLayout,
    StationLayout,
    lay_out_bed,
    lay_out_cells,
    lay_out_row,
    lay_out_stations,
    places_filled,
    stations_of,
    sure_places,
)
from seedbank.science.sowing.testing_first import TEST_SEEDS
from seedbank.science.sowing.usual_rate import RateAdvice, Say

# Units sown for each plant wanted when sowing by feel. Common practice, no single source.
BY_FEEL = {"row": 5.0, "station": 3.0, "module": 2.0, "broadcast": 6.0}
_HISTORY_FOR_FEEL = 3
# A test of ten is worth proposing when it saves so many plants, and so much of those wanted, and
# leaves enough to sow. Our choice.
_TEST_PAYS, _TEST_PAYS_A_PLANT, _STOCK_FOR_TEST = 0.5, 0.02, 3

Layout = RowLayout | StationLayout | CellLayout | BedLayout


@dataclass(frozen=True, slots=True)
class SeedInHand:
    """A lot as the sower has it: viability (probits), units that may be spent.

    ``available=None`` when the amount is not known.
    """

    viability: WeightedNodes
    available: int | None = None
    seedlings_per_unit: float = 1.0


@dataclass(frozen=True, slots=True)
class Seedbed:
    """Where it goes: shift, pests, patchiness, spacing and the soil's warmth.

    ``most_cells`` bounds the module cells there are, ``most_a_place`` the units for each plant
    wanted, at a station or in a cell.
    """

    method: str
    shift: ShiftLaw
    pest: BetaShare | None = None
    patches: Patches = NO_PATCHES
    in_row_cm: float = 10.0
    plants_per_m2: float = 50.0
    soil: SoilWarmth | None = None
    most_cells: int | None = None
    most_a_place: float = 100.0


@dataclass(frozen=True, slots=True)
class ByFeel:
    """Against sowing by feel: units it takes, units saved, seedlings not thinned."""

    seeds_per_plant: float
    seeds: int
    seeds_saved: int
    seedlings_not_thinned: float
    basis: Finding


@dataclass(frozen=True, slots=True)
class SowingAdvice:
    """The whole answer. ``layout`` is by method.

    ``by_feel`` is None when the lot can't give the plants: there is nothing to save.
    """

    need: SeedNeed
    layout: Layout
    by_feel: ByFeel | None


def advise_sowing(
    seed: SeedInHand,
    bed: Seedbed,
    wanted: int,
    confidence: float,
    seeds_per_plant_before: Sequence[float] = (),
) -> SowingAdvice:
    """What it takes for ``wanted`` plants with a ``confidence`` asked for, within the cap.

    ``seeds_per_plant_before`` is this gardener's own units sown per plant wanted, for the
    comparison with sowing by feel. Raises ``ValueError`` on an unknown method, no plants
    wanted, no seed, or a confidence outside 0..1.
    """
    _check(seed, bed, wanted, confidence)
    emergence = emergence_nodes(seed.viability, bed.shift, bed.pest)
    need, layout = _need_and_layout(emergence, seed, bed, wanted, confidence)
    return _advice(emergence, seed, bed, need, layout, seeds_per_plant_before)


def sow_at_rate(
    seed: SeedInHand,
    bed: Seedbed,
    wanted: int,
    rate: RateAdvice,
    seeds_per_plant_before: Sequence[float] = (),
) -> SowingAdvice:
    """The same at the rate that costs least; enough is a good crop in the end, likely."""
    _check(seed, bed, wanted, USUAL_CONFIDENCE)
    emergence = emergence_nodes(seed.viability, bed.shift, bed.pest)
    if bed.method in ("station", "module"):
        layout = _places_at_rate(emergence, seed, bed, wanted, rate)
        need = _need_of_places(emergence, seed, bed.patches.rho, layout, wanted, USUAL_CONFIDENCE)
        return _advice(emergence, seed, bed, need, layout, seeds_per_plant_before)
    plants = plants_law(emergence, rate.units, bed.patches)
    each = plants_law(emergence, rate.units, bed.patches, seed.seedlings_per_unit)
    need = describe_sowing(rate.units, plants, each, wanted, USUAL_CONFIDENCE, rate.enough)
    return _advice(emergence, seed, bed, need, _row_or_bed(bed, need), seeds_per_plant_before)


def _check(seed: SeedInHand, bed: Seedbed, wanted: int, confidence: float) -> None:
    check_wanted(wanted, confidence)
    if bed.method not in METHODS:
        raise ValueError(f"method {bed.method!r} is not one of {', '.join(METHODS)}")
    if wanted < 1 or (seed.available is not None and seed.available < 1):
        raise ValueError(f"need plants wanted and seed, got {wanted!r} and {seed.available!r}")


def _advice(
    emergence: WeightedNodes,
    seed: SeedInHand,
    bed: Seedbed,
    need: SeedNeed,
    layout: Layout,
    before: Sequence[float],
) -> SowingAdvice:
    return SowingAdvice(need, layout, _against_feel(emergence, seed, bed, need, before))


def _places_at_rate(
    emergence: WeightedNodes, seed: SeedInHand, bed: Seedbed, wanted: int, rate: RateAdvice
) -> StationLayout | CellLayout:
    each = int(rate.rate)
    if seed.available is not None:
        each = min(each, seed.available)
    places = rate.bed.places
    if bed.method == "module" and bed.most_cells is not None:
        places = min(places, bed.most_cells)
    if seed.available is not None:
        places = min(places, seed.available // each)
    reached = places_filled(emergence, places, each, wanted, bed.patches.rho)
    if bed.method == "module":
        return CellLayout(places, each, places * each, reached, rate.enough)
    return stations_of(emergence, places, each, bed.patches.rho, (reached, rate.enough))


def _need_and_layout(
    emergence: WeightedNodes, seed: SeedInHand, bed: Seedbed, wanted: int, confidence: float
) -> tuple[SeedNeed, Layout]:
    """Stations and cells decide the amount by places filled, row and bed by plants."""
    layout: Layout
    most = bed.most_a_place
    if bed.method == "station":
        stock = wanted * int(most)
        stock = stock if seed.available is None else min(stock, seed.available)
        layout = lay_out_stations(
            emergence, wanted, confidence, rho=bed.patches.rho, available=stock
        )
    elif bed.method == "module":
        layout = lay_out_cells(
            emergence,
            wanted,
            confidence,
            bed.patches.rho,
            seed.available,
            CellBounds(int(most), bed.most_cells),
        )
    else:
        stock = max(int(most * wanted), 1)
        stock = stock if seed.available is None else min(stock, seed.available)
        need = seeds_to_sow(
            emergence, wanted, confidence, stock, bed.patches, seed.seedlings_per_unit
        )
        return need, _row_or_bed(bed, need)
    return _need_of_places(emergence, seed, bed.patches.rho, layout, wanted, confidence), layout


def _row_or_bed(bed: Seedbed, need: SeedNeed) -> Layout:
    if bed.method == "row":
        return lay_out_row(need.seeds, need.wanted, bed.in_row_cm)
    return lay_out_bed(need.seeds, need.wanted, bed.plants_per_m2)


def _need_of_places(
    emergence: WeightedNodes,
    seed: SeedInHand,
    rho: float,
    layout: StationLayout | CellLayout,
    wanted: int,
    confidence: float,
) -> SeedNeed:
    """The outcome where a plant is a place filled, and each place is a patch of its own."""
    if isinstance(layout, StationLayout):
        places, units = layout.stations, layout.seeds_per_station
    else:
        places, units = layout.cells, layout.seeds_per_cell
    if seed.available is not None:
        places = min(places, seed.available // units)
    sown, patches = places * units, Patches(rho, units)
    plants = plants_law(emergence, sown, patches)
    each = plants_law(emergence, sown, patches, seed.seedlings_per_unit)
    need = describe_sowing(sown, plants, each, wanted, confidence, layout.attained)
    sure = sure_places(emergence, places, units, confidence, rho)
    return replace(need, reached=layout.reached, sure_plants=sure)


def _against_feel(
    emergence: WeightedNodes,
    seed: SeedInHand,
    bed: Seedbed,
    need: SeedNeed,
    before: Sequence[float],
) -> ByFeel | None:
    if not need.attained:
        return None
    if len(before) >= _HISTORY_FOR_FEEL:
        rate, basis = float(np.median(before)), Finding("by-feel-own", {"sowings": len(before)})
    else:
        rate, basis = BY_FEEL[bed.method], Finding("by-feel-usual")
    seeds = max(1, round(rate * need.wanted))
    more = max(seeds - need.seeds, 0) * emergence.mean * seed.seedlings_per_unit
    return ByFeel(rate, seeds, seeds - need.seeds, more, basis)


def alternatives(
    bed: Seedbed, rate: RateAdvice, saved_by_test: float, stock: int | None
) -> tuple[Finding, ...]:
    """What to do instead or first; empty when the lot does it and a test would save little.

    ``stock`` is what may be spent, None: no end of it.
    """
    if bed.soil is not None and bed.soil.verdict in UNFIT:  # no other seed mends the soil
        soil: dict[str, Value] = {"soil": bed.soil.caution, "side": bed.soil.verdict}
        return (Finding("wait-for-warmth", soil),)
    found = []
    wanted = rate.bed.crop.wanted
    spare = stock is None or stock >= _STOCK_FOR_TEST * TEST_SEEDS
    if spare and saved_by_test > max(_TEST_PAYS, _TEST_PAYS_A_PLANT * wanted):
        saved: dict[str, Value] = {"seeds": TEST_SEEDS, "saved_plants": saved_by_test}
        found.append(Finding("test-first", {**saved, "plants": wanted}))
    if rate.say is Say.SOW:
        return tuple(found)
    if rate.say is Say.TEST_FIRST and rate.bed.prices.delay < 1.0:
        found.append(Finding("two-halves"))
    lacking = max(round(wanted * (1.0 - rate.outlook.crop)), 1)
    more = Finding("other-lot", {"lacking_plants": lacking})
    return *found, Finding("pre-germinate"), more, Finding("buy")
