"""A sowing as the science of rates takes it: the kind's printed rates, its ways, and the bed."""

from dataclasses import dataclass, replace

import numpy as np

from seedbank.emergence.tables import SowingMethod
from seedbank.facts.kinds import KindFacts
from seedbank.facts.seeding_rates import (
    UsualRate,
    may_be_pricked_out,
    seed_price_class,
    usual_rate,
    way_of_sowing,
)
from seedbank.facts.sources import Basis
from seedbank.science.sowing.crop_filling import PLACES, Crop
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes
from seedbank.science.sowing.emergence_twice import emergence_twice
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.sowing_costs import plants_for_packet, usual_prices
from seedbank.science.sowing.testing_first import saved_by_test
from seedbank.science.sowing.two_sowings import Bed, sowing_costs
from seedbank.science.sowing.usual_rate import (
    SPARE_CELLS,
    RateAdvice,
    UsualRange,
    advise_rate,
    good_emergence,
    usual_range,
)

_COUNTED_IN = {SowingMethod.STATION: "station", SowingMethod.MODULE: "module"}


@dataclass(frozen=True, slots=True)
class SeedToSow:
    """A lot on the day: its viability in probits, units that may be spent (None: no end).

    ``alive`` is how alive it is, where that isn't its viability, as of a mixture.
    """

    viability: WeightedNodes
    stock: int | None = None
    rare: bool = False
    pelleted: bool = False
    alive: WeightedNodes | None = None


@dataclass(frozen=True, slots=True)
class SowingPlace:
    """Where a kind is sown, and how; ``lost`` is what sleeps or is eaten.

    ``again`` says whether a second sowing can still come to a crop; ``most_cells`` bounds cells.
    """

    facts: KindFacts
    method: SowingMethod
    spacing_cm: float
    shift: ShiftLaw
    lost: BetaShare | None = None
    patches: Patches = NO_PATCHES
    again: bool = True
    most_cells: int | None = None

    @property
    def way(self) -> str:
        """One of ``crop_filling.WAYS``."""
        return way_of_sowing(self.facts, self.method)

    @property
    def places_a_unit(self) -> float:
        """Places in a metre of row (or of a broadcast bed's); 1 at a station or cell."""
        return 1.0 if self.way in PLACES else 100.0 / self.spacing_cm

    @property
    def printed(self) -> UsualRate | None:
        """The kind's usual rate as printed, or its nearest relative's."""
        method = _COUNTED_IN.get(self.method, "row")
        return usual_rate(self.facts.slug, method, self.spacing_cm)

    def advise(self, seed: SeedToSow, wanted: int) -> RateAdvice:
        """How thickly to sow it for so many plants, a second sowing counted in."""
        way, printed = self.way, self.printed
        cluster = self.facts.seed_unit.value == "cluster"
        prices = usual_prices(way, wanted, seed_price_class(self.facts), cluster=cluster)
        prices = prices.in_time(self.again)
        if seed.rare:
            prices = prices.of_rare(wanted, seed.stock)
        patches = NO_PATCHES if way in PLACES else self.patches
        moved = way == "cell" and may_be_pricked_out(self.facts)
        twice = emergence_twice(seed.viability, self.shift, self.lost)
        bed = Bed(twice, Crop(way, wanted, patches, moved), prices, seed.stock)
        own = seed.pelleted or (printed is not None and printed.basis is not Basis.STAND_IN)
        found = self._usual(printed, pelleted=seed.pelleted)
        return advise_rate(
            bed,
            seed.alive or seed.viability,
            good_emergence(self.shift, self.lost),
            found if own else None,
            found,
            self._spare(wanted) if way == "cell" else (1.0,),
        )

    def saved_by_test(self, advice: RateAdvice, viability: WeightedNodes) -> float:
        """Plants that testing a few of a lot first would save, where fresh seed can be had."""
        fresh = replace(advice.bed, twice=good_emergence(self.shift, self.lost))
        rate = min(max(advice.good_lot, advice.usual.low), advice.usual.most)
        packet = plants_for_packet(advice.bed.crop.wanted)
        instead = float(sowing_costs(fresh, np.array([rate])).total[0]) + packet
        return saved_by_test(advice.bed, viability, self.shift, self.lost, instead)

    def _usual(self, printed: UsualRate | None, *, pelleted: bool) -> UsualRange | None:
        if pelleted:
            return usual_range(self.way, 1.0, 1.0, pelleted=True)
        each = self.places_a_unit
        if printed is None:
            return None
        return usual_range(self.way, printed.low / each, printed.high / each)

    def _spare(self, wanted: int) -> tuple[float, ...]:
        if self.most_cells is None:
            return SPARE_CELLS
        room = tuple(s for s in SPARE_CELLS if round(s * wanted) <= self.most_cells)
        return room or (1.0,)
