"""What answers may cost: a second of processor time each, and 300 MB at the peak."""

import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import process_time

MOST_SECONDS = 1.0
MOST_BYTES = 300e6


@contextmanager
def bounded() -> Iterator[Callable[[Callable[[], object]], None]]:
    """Holds every answer asked for within to its time, the better of two tries; then all of them
    once more to their memory: watching that would spoil the times.
    """
    asked: list[Callable[[], object]] = []

    def bound(answer: Callable[[], object]) -> None:
        seconds = _seconds(answer)
        if seconds > MOST_SECONDS:
            seconds = _seconds(answer)
        assert seconds < MOST_SECONDS
        asked.append(answer)

    yield bound
    tracemalloc.start()
    try:
        for answer in asked:
            answer()
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()


def _seconds(answer: Callable[[], object]) -> float:
    start = process_time()
    answer()
    return process_time() - start
