"""A lot: its hidden quality, its true state on any day, and what the keeper wrote down of it."""

import math
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

import numpy as np
from demo_story import LotStory, VarietyStory
from demo_truth import Air, KindTruth, probits_lost, stream

TODAY = date(2027, 2, 20)
Row = dict[str, object]


@dataclass
class Life:
    """What happened to one lot, and what it still holds by the keeper's own books."""

    lot: LotStory
    kind: KindTruth
    variety: VarietyStory
    air: dict[str, Air]
    came_on: date
    thousand_seed_weight_g: float
    ki: float
    sigma_factor: float
    random: np.random.RandomState
    held: int = 0
    movements: list[Row] = field(default_factory=list)
    tests: list[Row] = field(default_factory=list)
    sowings: list[Row] = field(default_factory=list)

    def probit(self, on: date) -> float:
        """True probit viability on a day; a recalcitrant nut lives one winter in damp sand."""
        if not self.kind.p50_years:
            return 0.9 if (on - self.came_on).days < 240 else -6.0
        lost, stays = 0.0, [*self.lot.stays, ("", on)]
        for (place, start), (_, end) in pairwise(stays):
            begin, until = start or self.came_on, min(end or on, on)
            if begin < until:
                lost += probits_lost(self.kind, self.air[place], begin, until)
        return self.ki - lost / self.sigma_factor

    def move(self, on: date, reason: str, seeds: int, note: str = "") -> None:
        """Write one movement (amounts without sign) and keep the balance."""
        row = {"lot": self.lot.label, "date": on, "reason": reason, "seeds": seeds, "note": note}
        if self.lot.grams is not None and reason in ("acquired", "harvested", "given"):
            grams = round(seeds * self.thousand_seed_weight_g / 1000, 1)
            seeds = round(grams * 1000 / self.thousand_seed_weight_g)
            row |= {"seeds": "", "grams": f"{grams:g}"}
        if reason == "stock-take":
            self.held = seeds
        else:
            self.held += seeds if reason in ("acquired", "harvested") else -seeds
        self.movements.append(row)


def begin(lot: LotStory, variety: VarietyStory, kind: KindTruth, air: dict[str, Air]) -> Life:
    """A lot as it came, with its hidden quality drawn."""
    random = stream(lot.label)
    ki = kind.ki + 0.25 * random.normal() + (0.1 if lot.origin == "bought" else 0.0)
    sigma_factor = math.exp(0.25 * random.normal())
    weight = kind.thousand_seed_weight_g
    if lot.weight_measured:
        weight = float(f"{weight * (1 + 0.08 * random.normal()):.3g}")
    came_on = _came_on(lot, kind, random)
    life = Life(lot, kind, variety, air, came_on, weight, ki, sigma_factor, random)
    if lot.stock_take_only:
        life.move(date(2027, 1, 10), "stock-take", lot.seeds or 0, "found, counted, nothing known")
        return life
    seeds = lot.seeds or round((lot.grams or 0) * 1000 / weight)
    came_in = "harvested" if lot.origin in ("self-saved", "collected") else "acquired"
    life.move(came_on, came_in, seeds)
    return life


def _came_on(lot: LotStory, kind: KindTruth, random: np.random.RandomState) -> date:
    if lot.year is None:
        return date(2027, 1, 10)
    if lot.origin == "bought":
        return date(lot.year + 1, 2, random.randint(1, 5))
    if lot.origin == "swapped":
        return date(lot.year, 11, 14)  # the autumn swap in the village hall
    if lot.origin == "gift":
        return date(lot.year, 10, random.randint(2, 30))
    return date(lot.year, kind.harvest_month, random.randint(5, 28))
