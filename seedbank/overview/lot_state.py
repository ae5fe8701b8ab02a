"""The state of a lot, in one word: what to do with its seed. It is the verdict as it is today."""

from typing import Final

import numpy as np

from seedbank.common.catalogue import text_of
from seedbank.overview.tables import LotState
from seedbank.science.quantities import Finding, IntArray
from seedbank.science.verdicts.verdict import NO_VERDICT, VERDICTS
from seedbank.verdicts.judge_lots import Judgement

STATES: Final = tuple(LotState)


def states_of(judged: Judgement) -> IntArray:
    """Of each lot judged which of ``STATES`` it is in, (L,); -1 of a lot with nothing left."""
    ranks = [STATES.index(LotState(verdict.value)) for verdict in VERDICTS]
    known = np.array([*ranks, -1], dtype=np.int64)
    found: IntArray = known[np.where(judged.verdicts.code == NO_VERDICT, -1, judged.verdicts.code)]
    return found


def state_words(state: LotState) -> str:
    """A state as a person reads it."""
    return text_of(Finding("lot-state", {"state": state.value}))
