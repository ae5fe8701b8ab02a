"""The lots of a variety as a sower finds them: how alive, how much may be taken, how ready to
come up.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import ndtr
from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import Kind, OtherKeepers, Variety
from seedbank.lots.tables.ledger import Balance, balances
from seedbank.lots.tables.lots import Lot
from seedbank.science.amounts import AmountLaw
from seedbank.science.quantities import INTERVAL_LEVEL, Interval
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.lot_choice import USABLE_VIABILITY
from seedbank.viability.forecast_viability import MOST_ADVISED, SEEDS_A_PLANT, Forecast, forecast
from seedbank.viability.readiness import ReadyShare, read_readiness
from seedbank.viability.tables.stock_columns import day_date, day_number

_PARTS = 8  # that stand for the amounts that are too little; our choice


@dataclass(frozen=True, slots=True)
class SowableLot:
    """One lot on the day of sowing: ``position`` in the forecast, viability, stock, readiness.

    ``fleeting`` seed can't be stored, so none of it is kept back.
    """

    lot: Lot
    position: int
    harvest_year: int
    viability: WeightedNodes
    median: float
    range: Interval
    held: Balance
    ready: ReadyShare
    fleeting: bool = False
    amount: AmountLaw | None = None  # of one not counted

    @property
    def usable(self) -> bool:
        """Holding seed alive enough to fill a row."""
        alive = float(self.viability.weight @ ndtr(self.viability.value))
        return self.held.any and alive >= USABLE_VIABILITY

    @property
    def most(self) -> int:
        """Seeds that advice may spend; of a lot not counted more than is ever likely to be."""
        return MOST_ADVISED if self.held.seeds is None else self.held.seeds

    def chance_it_holds(self, seeds: int) -> float:
        """Chance that it holds so many, 0..1."""
        if self.amount is None:
            return float(self.held.has(seeds))
        return float(self.amount.chance_of(np.array([float(seeds)]))[0])

    def amounts_for(self, seeds: int) -> list[tuple[int, float]]:
        """Of ``seeds`` asked for what it can give, with the chance of each amount, 0..1."""
        there = self.chance_it_holds(seeds)
        if self.amount is None or there >= 1.0:
            return [(seeds, 1.0)]
        fewer = self.amount.below(float(seeds), _PARTS)[:, 0].tolist()
        return [(seeds, there), *((int(some), (1.0 - there) / _PARTS) for some in fewer)]

    def alike(self, seeds: int) -> list[int]:
        """The same in amounts as likely as one another, the least first."""
        if self.amount is None:
            return [seeds] * _PARTS
        return [min(int(some), seeds) for some in self.amount.below(math.inf, _PARTS)[:, 0]]

    def most_for(self, plants: int) -> int:
        """The same of advice on so many plants."""
        if self.held.seeds is not None:
            return self.held.seeds
        return min(MOST_ADVISED, SEEDS_A_PLANT * max(plants, 1))


@dataclass(frozen=True, slots=True)
class VarietyStock:
    """A variety's lots of seed, placed in a forecast that may hold others too, and its kind's
    facts. ``pieces`` of planting stock, infinite where some isn't counted, None if it has none."""

    variety: Variety
    kind: Kind
    facts: KindFacts
    forecast: Forecast
    lots: tuple[SowableLot, ...]
    pieces: float | None = None

    @property
    def rare(self) -> bool:
        """Kept by few others, or by none: its reserve is not for sowing."""
        return self.variety.other_keepers is not OtherKeepers.MANY

    def kept_back(self, lot: SowableLot) -> int:
        """Seeds of a lot that the reserve of a rare variety needs: what the others don't hold.

        What isn't counted is relied on for no other lot's sake.
        """
        if not self.rare or lot.fleeting:
            return 0
        elsewhere = sum(o.held.seeds or 0 for o in self.lots if o is not lot and o.usable)
        return min(max(self.variety.reserve_seeds - elsewhere, 0), lot.most)


def read_variety_stock(
    session: Session, variety: Variety, facts: KindFacts, day: date, *, today: date
) -> VarietyStock:
    """Every lot of a variety, as it will be on ``day``; a variety without lots has none."""
    kind = session.get_one(Kind, variety.kind_id)
    return read_stocks(session, [(variety, kind, facts)], day, today=today)[row_id(variety.id)]


def read_stocks(
    session: Session,
    varieties: Sequence[tuple[Variety, Kind, KindFacts]],
    day: date,
    *,
    today: date,
) -> dict[int, VarietyStock]:
    """The same of several varieties by id, all in one forecast, which they share."""
    numbers = [row_id(variety.id) for variety, _, _ in varieties]
    query = select(Lot).where(col(Lot.variety_id).in_(numbers)).order_by(col(Lot.id))
    lots = session.exec(query).all()
    ids = [row_id(lot.id) for lot in lots]
    predicted = forecast(session, today=today, lot_ids=ids, ahead_years=0.0)
    found: dict[int, list[SowableLot]] = {number: [] for number in numbers}
    pieces: dict[int, float | None] = dict.fromkeys(numbers)
    for one in _sowable(session, lots, ids, predicted, day) if lots else ():
        number = one.lot.variety_id
        if not predicted.planting_stock[one.position]:
            found[number].append(one)
        elif one.held.any and not predicted.collection.mixture[one.position]:
            held = math.inf if one.held.seeds is None else one.held.seeds
            pieces[number] = held + (pieces[number] or 0.0)
    return {
        number: VarietyStock(variety, kind, facts, predicted, tuple(found[number]), pieces[number])
        for number, (variety, kind, facts) in zip(numbers, varieties, strict=True)
    }


def _sowable(
    session: Session, lots: Sequence[Lot], ids: list[int], predicted: Forecast, day: date
) -> tuple[SowableLot, ...]:
    held, ready = balances(session, ids), read_readiness(session, ids)
    dose = predicted.dose_on(day_number(day))
    nodes, band = predicted.posterior.nodes(dose), predicted.posterior.band(dose)
    return tuple(
        SowableLot(
            lot,
            at,
            (day_date(float(predicted.ages.harvest_day[at])) or day).year,
            WeightedNodes(nodes.probit[at], nodes.weight[at]),
            float(band.median[at]),
            Interval(float(band.low_90[at]), float(band.high_90[at]), INTERVAL_LEVEL),
            held[ids[at]],
            ready.on(ids[at], day),
            predicted.facts_of(at).cannot_be_stored,
            predicted.amounts_left(np.array([at])) if held[ids[at]].seeds is None else None,
        )
        for at, lot in enumerate(lots)
    )
