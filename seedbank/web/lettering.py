"""Where the words of a picture stand: in the place, of several, that crosses the least."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from seedbank.science.quantities import FloatArray

_EM_SHARE = 0.54  # mean width of a letter of our text faces, of its height
_RISE, _FALL = 0.78, 0.24  # of its height, over and under the line it stands on
_CLEAR = 2.0  # px left around words


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, px, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        """Whether the two overlap."""
        apart = (
            self.right <= other.left
            or other.right <= self.left
            or self.bottom <= other.top
            or other.bottom <= self.top
        )
        return not apart

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies in it."""
        return self.left <= x <= self.right and self.top <= y <= self.bottom


@dataclass(frozen=True, slots=True)
class Word:
    """Words of a picture at ``x``, ``y`` of their base line; ``anchor`` as in SVG."""

    text: str
    x: float
    y: float
    anchor: str = "start"
    size_px: float = 14.0

    @property
    def box(self) -> Box:
        """The room it takes, with a little around it."""
        width = _EM_SHARE * self.size_px * len(self.text)
        left = self.x - {"start": 0.0, "middle": width / 2.0, "end": width}[self.anchor]
        top, bottom = self.y - _RISE * self.size_px, self.y + _FALL * self.size_px
        return Box(left - _CLEAR, top - _CLEAR, left + width + _CLEAR, bottom + _CLEAR)


@dataclass(slots=True)
class Lettering:
    """The words set so far within ``frame``, and what others must stand clear of.

    ``lines`` are points along lines, close together; ``shapes`` are boxes of marks; ``ground`` are
    points of what words may stand on if they must.
    """

    frame: Box
    lines: FloatArray  # (N, 2)
    ground: FloatArray  # (M, 2)
    shapes: list[Box] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)

    def place_if_clear(self, candidates: Sequence[Word]) -> Word | None:
        """Set the word where it crosses the least, of equal places the first; nowhere if it would
        cross a line, a mark or a word."""
        crossed = [self._crossed(one) for one in candidates]
        least = min(crossed)
        if least >= 1.0:
            return None
        word = candidates[crossed.index(least)]
        self.words.append(word)
        self.shapes.append(word.box)
        return word

    def _crossed(self, word: Word) -> float:
        box, frame = word.box, self.frame
        outside = (
            box.left < frame.left - _CLEAR
            or box.right > frame.right + _CLEAR
            or box.top < frame.top - _CLEAR
            or box.bottom > frame.bottom + _CLEAR
        )
        crossed = 100.0 * outside + 10.0 * sum(box.meets(one) for one in self.shapes)
        crossed += 5.0 * _within(box, self.lines)
        return crossed + 0.001 * _within(box, self.ground)


def _within(box: Box, points: FloatArray) -> int:
    x, y = points.T
    inside = (box.left <= x) & (x <= box.right) & (box.top <= y) & (y <= box.bottom)
    return int(np.count_nonzero(inside))


def along(points: Sequence[tuple[float, float]], step: float = 4.0) -> list[tuple[float, float]]:
    """Points no more than ``step`` apart along a broken line."""
    found = []
    for (x0, y0), (x1, y1) in pairwise(points):
        pieces = max(1, int(max(abs(x1 - x0), abs(y1 - y0)) / step + 1.0))
        found += [(x0 + (x1 - x0) * k / pieces, y0 + (y1 - y0) * k / pieces) for k in range(pieces)]
    return [*found, *points[-1:]]
