"""Sowing advice for one lot: how much, how laid out, what to thin, and what else to do.

Puts together the exact need (``seed_need``), its layout (``sowing_layout``), the soil
(``soil_warmth``) and the alternatives when the lot can't give the plants.

Checked for hanging together; the numbers carry the outside checks of their own modules.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

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
    smallest_seeds,
)
from seedbank.science.sowing.soil_warmth import UNFIT, SoilWarmth
from seedbank.science.sowing.sowing_layout import (
    BedLayout,
    CellLayout,
    Grams,
    RowLayout,
    SeedWeight,
    StationLayout,
    lay_out_bed,
    lay_out_cells,
    lay_out_row,
    lay_out_stations,
    seed_grams,
    sure_places,
)

# Units sown for each plant wanted when sowing by feel. Common practice, no single source.
BY_FEEL = {"row": 5.0, "station": 3.0, "module": 2.0, "broadcast": 6.0}
_HISTORY_FOR_FEEL = 3
# Share of the field shift left when only sprouted seed is sown: it still has to come up. Our
# choice.
_SHIFT_AFTER_CHITTING = 0.5
# A test is worth proposing when the doubt about viability costs this much more seed. Our choice.
_TEST_PAYS = 1.25

Layout = RowLayout | StationLayout | CellLayout | BedLayout


@dataclass(frozen=True, slots=True)
class SeedInHand:
    """A lot as the sower has it: viability (probits), readiness, units that may be spent.

    ``available=None`` when the amount is not known; ``weight`` for grams.
    """

    viability: WeightedNodes
    available: int | None = None
    ready: float = 1.0
    seedlings_per_unit: float = 1.0
    weight: SeedWeight | None = None


@dataclass(frozen=True, slots=True)
class Seedbed:
    """Where it goes: shift, pests, patchiness, spacing and the soil's warmth.

    ``most_cells`` bounds the module cells there are.
    """

    method: str
    shift: ShiftLaw
    pest: BetaShare | None = None
    patches: Patches = NO_PATCHES
    in_row_cm: float = 10.0
    plants_per_m2: float = 50.0
    soil: SoilWarmth | None = None
    most_cells: int | None = None


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
    """The whole answer. ``layout`` is by method; ``grams`` None without a seed weight.

    ``by_feel`` is None when the lot can't give the plants: there is nothing to save.
    ``alternatives`` are ``test-first``, ``pre-germinate``, ``other-lot``, ``buy`` or
    ``wait-for-warmth``, with the seeds that then do.
    """

    need: SeedNeed
    layout: Layout
    grams: Grams | None
    by_feel: ByFeel | None
    soil: SoilWarmth | None
    alternatives: tuple[Finding, ...]


def advise_sowing(
    seed: SeedInHand,
    bed: Seedbed,
    wanted: int,
    confidence: float = USUAL_CONFIDENCE,
    seeds_per_plant_before: Sequence[float] = (),
) -> SowingAdvice:
    """Advice for ``wanted`` plants with ``confidence``.

    ``seeds_per_plant_before`` is this gardener's own units sown per plant wanted, for the
    comparison with sowing by feel. Raises ``ValueError`` on an unknown method, no plants
    wanted, no seed, or a confidence outside 0..1.
    """
    check_wanted(wanted, confidence)
    if bed.method not in METHODS:
        raise ValueError(f"method {bed.method!r} is not one of {', '.join(METHODS)}")
    if wanted < 1 or (seed.available is not None and seed.available < 1):
        raise ValueError(f"need plants wanted and seed, got {wanted!r} and {seed.available!r}")
    emergence = emergence_nodes(seed.viability, bed.shift, bed.pest, seed.ready)
    need, layout = _need_and_layout(emergence, seed, bed, wanted, confidence)
    return SowingAdvice(
        need,
        layout,
        seed_grams(need.seeds, seed.weight) if seed.weight else None,
        _against_feel(emergence, seed, bed, need, seeds_per_plant_before),
        bed.soil,
        _alternatives(seed, bed, need),
    )


def _need_and_layout(
    emergence: WeightedNodes, seed: SeedInHand, bed: Seedbed, wanted: int, confidence: float
) -> tuple[SeedNeed, Layout]:
    """Stations and cells decide the amount by places filled, row and bed by plants."""
    layout: Layout
    if bed.method == "station":
        layout = lay_out_stations(
            emergence, wanted, confidence, rho=bed.patches.rho, available=seed.available
        )
    elif bed.method == "module":
        layout = lay_out_cells(
            emergence, wanted, confidence, bed.patches.rho, seed.available, bed.most_cells
        )
    else:
        need = seeds_to_sow(
            emergence, wanted, confidence, seed.available, bed.patches, seed.seedlings_per_unit
        )
        if bed.method == "row":
            return need, lay_out_row(need.seeds, wanted, bed.in_row_cm)
        return need, lay_out_bed(need.seeds, wanted, bed.plants_per_m2)
    return _need_of_places(emergence, seed, bed.patches.rho, layout, wanted, confidence), layout


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


def _alternatives(seed: SeedInHand, bed: Seedbed, need: SeedNeed) -> tuple[Finding, ...]:
    """What to do instead or first; empty when the lot does it and a test would save little."""
    if bed.soil is not None and bed.soil.verdict in UNFIT:  # no other seed mends the soil
        soil: dict[str, Value] = {"soil": bed.soil.caution, "side": bed.soil.verdict}
        return (Finding("wait-for-warmth", soil),)
    found = []
    known = _seeds_if(seed, bed, need, 1.0, known_viability=True)
    in_reach = known is not None and (seed.available is None or known <= seed.available)
    if known is not None and in_reach and (not need.attained or need.seeds > _TEST_PAYS * known):
        found.append(Finding("test-first", {"seeds": known, "plants": need.wanted}))
    if need.attained:
        return tuple(found)
    chitted = _seeds_if(seed, bed, need, _SHIFT_AFTER_CHITTING)
    enough = chitted is not None and (seed.available is None or chitted <= seed.available)
    seeds = chitted if enough else seed.available
    found.append(Finding("pre-germinate", {"seeds": seeds, "enough": enough}))
    lacking = max(need.wanted - need.sure_plants, 1)
    return *found, Finding("other-lot", {"lacking_plants": lacking}), Finding("buy")


def _seeds_if(
    seed: SeedInHand,
    bed: Seedbed,
    need: SeedNeed,
    shift_kept: float,
    known_viability: bool = False,
) -> int | None:
    """Units needed if less of the shift were left, or the lot's viability were certain."""
    viability = seed.viability
    if known_viability:
        expected = viability.value[np.argsort(viability.value)]
        cumulative = np.cumsum(viability.weight[np.argsort(viability.value)])
        median = expected[min(int(np.searchsorted(cumulative, 0.5)), expected.size - 1)]
        viability = WeightedNodes(np.array([median]), np.ones(1))
        if ndtr(median) < 1e-6:
            return None
    law = ShiftLaw(bed.shift.mean * shift_kept, bed.shift.sd * shift_kept, bed.shift.failure)
    emergence = emergence_nodes(viability, law, bed.pest, seed.ready)
    return smallest_seeds(emergence, need.wanted, need.confidence, bed.patches)
