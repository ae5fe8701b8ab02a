"""What a usual row takes of a kind: here alone verdicts ask how thickly it is usually sown."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from seedbank.emergence.tables import SowingMethod
from seedbank.facts.kinds import KindFacts
from seedbank.facts.seeding_rates import seed_price_class, usual_spacing_cm, way_of_sowing
from seedbank.facts.tables import read_table
from seedbank.science.sowing.crop_filling import WAYS
from seedbank.science.sowing.field_shift_learning import FieldShiftModel
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.lot_thickness import UsualRates
from seedbank.science.sowing.seedling_losses import learn_pest_loss, patchiness_prior
from seedbank.science.sowing.usual_rate import UsualRange, good_lot
from seedbank.science.verdicts.row_decision import ROW_M, alive_levels
from seedbank.sowing.setting import usual_method, usual_protection
from seedbank.sowing.sowing_rate import SeedToSow, SowingPlace
from seedbank.viability.sown_evidence import not_yet_learned

_ANY_YEAR = 2000  # nothing is known of its season


@dataclass(frozen=True, slots=True)
class UsualRow:
    """Plants of a 3 m row of a kind, and units a place: as printed, at most, of a good lot."""

    plants: float
    way: str
    printed: UsualRange
    good: float

    @property
    def rates(self) -> UsualRates:
        """The same as columns of one lot."""
        return rates_of([self])


def rates_of(rows: Sequence[UsualRow]) -> UsualRates:
    """Columns (L,) of so many lots."""
    return UsualRates(
        np.array([WAYS.index(one.way) for one in rows], dtype=np.int64),
        np.array([one.printed.low for one in rows], dtype=np.float64),
        np.array([one.printed.high for one in rows], dtype=np.float64),
        np.array([one.printed.most for one in rows], dtype=np.float64),
        np.array([one.good for one in rows], dtype=np.float64),
    )


_USUAL: dict[tuple[object, ...], tuple[UsualRange, float]] = {}


def usual_row(facts: KindFacts) -> UsualRow:
    """How a row of a kind is usually sown: as the advice has good seed sown in a garden that taught
    nothing yet, by the kind's usual method and spacing."""
    method, spacing_cm = usual_method(facts), usual_spacing_cm(facts)
    plants = max(1.0, 100.0 * ROW_M / max(spacing_cm, 0.5))
    # Whatever else of a kind is told, this is the same.
    cluster, price = facts.seed_unit.value == "cluster", seed_price_class(facts)
    way = way_of_sowing(facts, method)
    asked = (facts.slug, str(method), spacing_cm, way, price, cluster)
    if asked not in _USUAL:
        _USUAL[asked] = _tabled().get(asked) or good_seed(facts, method, spacing_cm, round(plants))
    printed, good = _USUAL[asked]
    return UsualRow(plants, way, printed, good)


def good_seed(
    facts: KindFacts, method: SowingMethod, spacing_cm: float, plants: int
) -> tuple[UsualRange, float]:
    """The usual range and what a good lot gets, units a place; a search, which takes a while."""
    protection = usual_protection(method)
    conditions = SowingConditions(facts.slug, method, protection, _ANY_YEAR, "spring")
    found = SowingPlace(
        facts,
        method,
        spacing_cm,
        _untaught().predict(conditions).law,
        learn_pest_loss(protection, ()).share,
        patchiness_prior(protection),
    ).advise(SeedToSow(good_lot()), plants)
    return found.usual, found.usual_good


@cache
def _tabled() -> dict[tuple[object, ...], tuple[UsualRange, float]]:
    """The same for the packaged kinds, worked out before, so that no start waits for it."""
    found: dict[tuple[object, ...], tuple[UsualRange, float]] = {}
    for row in read_table("good_seed_rates", "computed"):
        asked = (
            row["slug"], row["method"], float(row["spacing_cm"]), row["way"], row["price"],
            row["cluster"] == "yes",
        )  # fmt: skip
        low, high, most, good = (float(row[name]) for name in ("low", "high", "most", "good"))
        found[asked] = UsualRange(low, high, most), good
    return found


@cache
def _untaught() -> FieldShiftModel:
    """Beds as published, nothing of one's own learned."""
    return not_yet_learned(()).model


@lru_cache(512)
def row_levels(row: UsualRow) -> tuple[float, float]:
    """Shares alive under which seed known so exactly is sown thicker, and is replaced."""
    return alive_levels(row.rates, row.plants)
