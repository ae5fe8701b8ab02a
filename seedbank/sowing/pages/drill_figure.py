"""Seeds drawn to scale along a drill, as one SVG path of short strokes; its template is
``_advice.html``."""

import math

_LEFT, _ALONG, _MIDDLE_Y = 6.0, 316.0, 17.0
_MOST = 80  # more run together
_GOLDEN = 0.618  # spreads them without a pattern, and alike each time


def seeds_along(seeds: float) -> str:
    """The path of so many seeds under one hand-span; past 80 the drill is full."""
    count = min(max(round(seeds), 1), _MOST)
    marks = []
    for at in range(count):
        luck = (at * _GOLDEN) % 1.0
        x = _LEFT + _ALONG * (at + 0.5 + 0.5 * (luck - 0.5)) / count
        y = _MIDDLE_Y + 6.0 * (((at + 7) * _GOLDEN) % 1.0 - 0.5)
        turn = math.tau * luck
        dx, dy = 2.2 * math.cos(turn), 1.6 * math.sin(turn)
        marks.append(f"M{x:.1f} {y:.1f}l{dx:.1f} {dy:.1f}")
    return "".join(marks)
