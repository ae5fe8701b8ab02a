"""Seconds left of a time limit. The clock is the caller's; science reads none of its own."""

from collections.abc import Callable


class TimeBudget:
    """``limit_s`` seconds from now by ``clock`` (seconds, such as ``time.monotonic``).

    Without a clock nobody knows what has passed, and each step gets a share of the whole limit.
    """

    def __init__(self, limit_s: float, clock: Callable[[], float] | None = None) -> None:
        if not limit_s > 0.0:
            raise ValueError(f"a time limit must be above 0 s, got {limit_s!r}")
        self._limit_s = limit_s
        self.clock = clock
        self._start_s = clock() if clock is not None else 0.0

    def left_s(self, share: float) -> float:
        """Seconds one step may take: all that is left, or without a clock a share (0..1)."""
        if self.clock is None:
            return self._limit_s * share
        return max(self._limit_s - (self.clock() - self._start_s), 0.0)

    def most_s(self, limit_s: float) -> float:
        """Seconds one of many steps may take: its own limit, or what is left if that is less."""
        return min(limit_s, self.left_s(1.0))
