"""How much seed of a variety to keep, for how long, and what is spare to give.

Kept is what is needed until new seed of one's own is in: a usual sowing each season, for the plants
wanted or one row of 3 m; the reserve; and for the next seed crop twice its seed, since half is held
back. Of what isn't saved: a usual sowing this season and next. Seed under half alive counts for
nothing and isn't given. All of it our choice.
"""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import VarietyBrief
from seedbank.kinds.tables import Kind, find_variety
from seedbank.lots.tables.lots import find_lot
from seedbank.science.quantities import Finding, IntArray, Value
from seedbank.science.verdicts.line_decision import SEASONS, Act
from seedbank.verdicts.answers import SeedToKeepAnswer, SpareLotAnswer
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.list_verdicts import variety_of
from seedbank.viability.tables.stock_columns import KEEPERS

FIT_TO_GIVE = 0.5
"""Median viability from which a lot is worth giving. Our choice."""
LEAST_GIFT = 10
"""Seeds. Our choice."""
ROW_SEASONS = 2
"""Seasons, this one and the next, for which seed that isn't saved is to do. Our choice."""
CROP_AND_ANOTHER = 2
"""The next seed crop, and one more should it fail. Our choice."""


@dataclass(frozen=True, slots=True)
class SeedToKeep:
    """Seeds of a variety to keep: for so many ``seasons`` of rows, the reserve, and the next seed
    crop, due on ``until`` (None: none is foreseen, or it isn't saved)."""

    seasons: int
    for_rows: int
    reserve: int
    for_seed_crop: int
    until: date | None

    @property
    def seeds(self) -> int:
        return self.for_rows + self.reserve + self.for_seed_crop


def plants_reckoned(judged: Judgement, at: int) -> float:
    """Plants of a lot's variety wanted each year; where nobody has said, those of a 3 m row."""
    wanted = float(judged.forecast.collection.plants_wanted[at])
    return wanted if wanted > 0 else float(judged.prospects.row_plants[at])


def sowing_seeds(judged: Judgement, at: int) -> int:
    """Seeds of a lot that a usual sowing for those plants takes."""
    share = plants_reckoned(judged, at) / float(judged.prospects.row_plants[at])
    return math.ceil(share * float(judged.verdicts.inputs.row.row_seeds[at]) - 1e-9)


def seed_to_keep(judged: Judgement, lots: IntArray, reserve: int) -> SeedToKeep:
    """What to keep of a variety whose lots fit to give stand at ``lots``, not empty."""
    inputs, ahead = judged.verdicts.inputs, judged.prospects.ahead
    leading = [at for at in lots.tolist() if judged.verdicts.parent[at] and inputs.leads[at]]
    best = int(lots[np.argmax(judged.viability.median[lots])])
    if not leading:
        seasons = min(ROW_SEASONS, int(ahead.seasons[best]))
        return SeedToKeep(seasons, seasons * sowing_seeds(judged, best), reserve, 0, None)
    at, line = leading[0], inputs.line
    until = judged.next_on(at)
    crop = line.next_act[at] in (Act.SOW_SOME, Act.SOW_ALL) and line.acts_in[at] < SEASONS
    # One sowing a season until the crop's seed is in; that of a biennial comes a year later.
    until_new = int(line.acts_in[at]) + 1 + int(judged.forecast.facts_of(at).flowers_next_year)
    seasons = min(until_new if crop else ROW_SEASONS, int(ahead.seasons[at]))
    # A reserve is there to grow the variety again, so the next crop is sown of it first.
    seed_crop = CROP_AND_ANOTHER * math.ceil(float(line.next_crop_seeds[at])) if crop else 0
    return SeedToKeep(
        seasons, seasons * sowing_seeds(judged, at), reserve, max(seed_crop - reserve, 0), until
    )


def spare_of(judged: Judgement, variety: int, reserve: int) -> SeedToKeepAnswer | None:
    """What to keep and what to give of a variety; None: no counted lot of it is fit to give."""
    lots, inputs = judged.forecast.collection, judged.verdicts.inputs
    held = (lots.variety_id == variety) & (lots.balance > 0) & lots.counted & ~lots.mixture
    dead = inputs.outlived | judged.forecast.planting_stock
    fit = np.flatnonzero(held & ~dead & (judged.viability.median >= FIT_TO_GIVE))
    if not fit.size:
        return None
    keep = seed_to_keep(judged, fit, reserve)
    left = {at: int(lots.balance[at]) for at in fit.tolist()}
    to_keep = keep.seeds
    for at in sorted(left, key=lambda one: (-float(judged.viability.median[one]), one)):
        used = min(left[at], to_keep)  # what must stay, of the lots most alive
        left[at] -= used
        to_keep -= used
    given = {at: seeds for at, seeds in left.items() if seeds >= LEAST_GIFT}
    spare, balance = sum(given.values()), int(lots.balance[fit].sum())
    values: dict[str, Value] = {
        "keep": balance - spare,
        "spare": spare,
        "seasons": keep.seasons,
        "for_rows": keep.for_rows,
        "reserve": keep.reserve,
        "for_seed_crop": keep.for_seed_crop,
        "short": keep.seeds > balance,
        "until": keep.until,
    }
    return SeedToKeepAnswer.of(
        Finding("seed-to-keep", values),
        variety=variety_of(judged, int(fit[0])),
        other_keepers=KEEPERS[int(lots.other_keepers[fit[0]])],
        held=balance,
        keep=balance - spare,
        spare=spare,
        seasons=keep.seasons,
        until=keep.until,
        for_rows=keep.for_rows,
        reserve=keep.reserve,
        for_seed_crop=keep.for_seed_crop,
        lots=[
            SpareLotAnswer(
                lot=lots.code[at],
                seeds=seeds,
                alive_pct=round(100.0 * float(judged.viability.median[at]), 1),
                treated=bool(lots.treated[at]),
                purity=lots.purity[at],
                purity_note=lots.purity_note[at],
            )
            for at, seeds in given.items()
        ],
    )


def seed_to_keep_of_lot(session: Session, code: str, *, today: date) -> SeedToKeepAnswer:
    """The same of a lot's variety. Raises MisreadCode, NotThere."""
    return _answered(session, find_lot(session, code).variety_id, today)


def seed_to_keep_of_variety(session: Session, number: int, *, today: date) -> SeedToKeepAnswer:
    """What to keep of a variety, for how long, and what is spare. Raises NotThere."""
    return _answered(session, number, today)


def _answered(session: Session, number: int, today: date) -> SeedToKeepAnswer:
    variety = find_variety(session, number)
    judged = judge_collection(session, today=today)
    found = spare_of(judged, number, variety.reserve_seeds)
    if found is not None:
        return found
    slug = session.exec(select(Kind.slug).where(col(Kind.id) == variety.kind_id)).one()
    whose = VarietyBrief(id=number, name=variety.name, kind=slug)
    return SeedToKeepAnswer.of(
        Finding("nothing-to-give"),
        variety=whose, other_keepers=variety.other_keepers, held=0, keep=0, spare=0, seasons=0,
        until=None, for_rows=0, reserve=variety.reserve_seeds, for_seed_crop=0, lots=[],
    )  # fmt: skip
