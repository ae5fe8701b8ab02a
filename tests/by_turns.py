"""Pieces of work measured side by side in one run, so that a ratio says what seconds can't."""

import time
from collections.abc import Callable
from typing import Any, NamedTuple


class Measured(NamedTuple):
    """What a piece of work answered last, and the least seconds of processor it took."""

    answer: Any
    seconds: float


def by_turns(goes: int, *works: Callable[[], Any]) -> list[Measured]:
    """Each work's answer and least cost of so many ``goes``, all threads of this process counted.

    A program waiting for its turn uses no processor, and what else slows the machine (its caches,
    its clock) falls on all works alike, as they are done by turns.
    """
    best, answers = [float("inf")] * len(works), [None] * len(works)
    for _ in range(goes):
        for at, work in enumerate(works):
            start = time.process_time()
            answers[at] = work()
            best[at] = min(best[at], time.process_time() - start)
    return [Measured(*both) for both in zip(answers, best, strict=True)]
