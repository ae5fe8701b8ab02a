"""Room for a few in what takes long to work out, so that light requests find threads free.

A server answers with 40 threads. Of those at most so many are ever in a lane, at work or waiting
for work; whoever comes beyond is told at once that it is busy. What is asked for within work has
its place already.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import BoundedSemaphore, local

from seedbank.common.errors import Busy

LONGEST_WAIT_S = 60.0
"""Longest that anyone waits for work of others. Our choice: more than a plan takes as a rule."""

_HERE = local()


class Lane:
    """Room for ``most`` threads, of which ``at_once`` are at work; None: all may be."""

    def __init__(self, most: int, at_once: int | None = None) -> None:
        self._room = BoundedSemaphore(most)
        self._turns = BoundedSemaphore(at_once or most)

    @contextmanager
    def place(self) -> Iterator[None]:
        """A place in the lane. Raises Busy: there is none."""
        if getattr(_HERE, "placed", False):
            yield
            return
        if not self._room.acquire(blocking=False):
            raise Busy
        _HERE.placed = True
        try:
            yield
        finally:
            _HERE.placed = False
            self._room.release()

    @contextmanager
    def turn(self) -> Iterator[None]:
        """A turn at work for who has a place. Raises Busy: it didn't come in time."""
        if getattr(_HERE, "working", False):
            yield
            return
        if not self._turns.acquire(timeout=LONGEST_WAIT_S):
            raise Busy
        _HERE.working = True
        try:
            yield
        finally:
            _HERE.working = False
            self._turns.release()


PLANS = Lane(24, at_once=1)
"""Saving plans and supplies: one is worked out at a time."""
JUDGEMENTS = Lane(12)
"""What is worked out for every lot or sowing: verdicts, retests, what the garden teaches."""
