"""How many seeds raise the seed parents, of every lot whose seed should be saved, all at once."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from sqlmodel import Session

from seedbank.database.cache import Kept
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.transaction import let_go
from seedbank.facts.growing import under_cover_factor
from seedbank.science.sowing.emergence import emergence_nodes, lot_viability, shift_of_factor
from seedbank.science.sowing.seed_need import smallest_seeds
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.judge_lots import PARENTS_CONFIDENCE, Judgement
from seedbank.viability.amounts_not_counted import most_to_advise
from seedbank.viability.forecast_viability import nodes_of_lots

Seeds = Mapping[int, int | None]

_KEPT: Kept[tuple[Any, Seeds]] = Kept(lane=JUDGEMENTS)


def seeds_for_parents(session: Session, seen: Judgement) -> Seeds:
    """Seeds to sow by the lot's position, of lots judged to save seed from; None: all there are.

    They raise the seed parents with the confidence asked, sown in modules under cover. Kept in
    memory for as long as the judgement is.
    """
    # Kept with the answer, the column can't give its number to another judgement's.
    code = seen.verdicts.code

    def work() -> tuple[Any, Seeds]:
        let_go(session)
        return code, _worked_out(seen)

    return _KEPT.get(session, lambda _: (id(code),), work)[1]


def _worked_out(seen: Judgement) -> Seeds:
    lots, parents = seen.forecast.collection, seen.verdicts.inputs.parents_needed
    shift = float(shift_of_factor(under_cover_factor().value))
    saved = np.flatnonzero(seen.verdicts.where(Verdict.SAVE_SEED))
    return {
        at: smallest_seeds(
            emergence_nodes(lot_viability(nodes), shift, 0.0),
            int(parents[at]),
            PARENTS_CONFIDENCE,
            available=most_to_advise(lots, at),
        )
        for at, nodes in nodes_of_lots(seen.forecast, saved, seen.forecast.today)
    }
