"""Between grams and seeds of a lot: by its own thousand-seed weight, else by its kind's."""

from dataclasses import dataclass

from seedbank.common.answers import Source
from seedbank.common.errors import Refused
from seedbank.common.forms import MOST
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Spread
from seedbank.kinds.answers import source_of
from seedbank.lots.tables.lots import Lot, SeedForm
from seedbank.science.quantities import grams_from_seeds, seeds_from_grams

# A printed range is read as covering about 95 % of lots, four standard errors across; without a
# range lots of one kind are taken to differ by a fifth (common practice, no single source).
_RANGE_IN_SE = 4.0
_NO_RANGE = 0.2
# Greatest coefficient of variation the ISTA Rules allow between weighed replicates (from memory).
MEASURED = 0.04


@dataclass(frozen=True, slots=True)
class SeedWeight:
    """Thousand-seed weight of a lot, its standard error, and where it is from."""

    tsw_g: float
    tsw_se_g: float
    measured: bool
    source: Source


@dataclass(frozen=True, slots=True)
class Weighed:
    """An amount in seeds, with what it was weighed and converted by if it was."""

    seeds: int
    seeds_se: float
    grams: float | None = None
    tsw_g: float | None = None
    source: Source | None = None


def seed_weight(lot: Lot, facts: KindFacts) -> SeedWeight | None:
    """Thousand-seed weight to convert this lot by; None when nothing is known.

    It is of what lies in the packet: what a kind's bare seed weighs says nothing of pellets.
    """
    if lot.thousand_seed_weight_g is not None:
        measured = lot.thousand_seed_weight_g
        stated = lot.thousand_seed_weight_se_g
        text = "thousand-seed weight as measured on this lot"
        if stated is None:
            text += "; error taken as 4 %, the variation seed-testing rules allow"
        error = MEASURED * measured if stated is None else stated
        return SeedWeight(measured, error, True, Source(text=text, confidence="own"))
    return None if lot.seed_form is SeedForm.PELLETED else kind_weight(facts)


def kind_weight(facts: KindFacts) -> SeedWeight | None:
    """Thousand-seed weight of a kind; None when nothing is known."""
    fact = facts.thousand_seed_weight_g
    if fact is None:
        return None
    typical = fact.value.typical
    return SeedWeight(typical, _spread_se(fact.value), False, source_of(fact))


def weigh(
    *,
    seeds: int | None,
    grams: float | None,
    seeds_se: float | None,
    weight: SeedWeight | None,
    field: str = "amount",
) -> Weighed:
    """An amount given in seeds or grams, in seeds.

    Raises Refused: grams of seed whose weight nobody knows, less than half a seed of it, or more
    than anybody has.
    """
    if seeds is not None:
        return Weighed(seeds, seeds_se or 0.0)
    assert grams is not None  # a form gives one or the other
    name = f"{field}.grams" if field else "grams"
    if weight is None:
        raise Refused("seed-weight-unknown", name, grams)
    number, error = seeds_from_grams(grams, weight.tsw_g, weight.tsw_se_g)
    whole = round(float(number))
    if whole == 0 and grams > 0:
        raise Refused("weight-below-one-seed", name, grams)
    if whole > MOST:
        raise Refused("weight-too-many-seeds", name, grams, seeds=whole)
    return Weighed(whole, float(error), grams, weight.tsw_g, weight.source)


def grams_of(seeds: int, weight: SeedWeight | None) -> float | None:
    """Weight of ``seeds`` in grams to three figures; None when nothing is known."""
    if weight is None:
        return None
    return float(f"{float(grams_from_seeds(seeds, weight.tsw_g)):.3g}")


def _spread_se(spread: Spread) -> float:
    if spread.low is None or spread.high is None or spread.high <= spread.low:
        return _NO_RANGE * spread.typical
    return (spread.high - spread.low) / _RANGE_IN_SE
