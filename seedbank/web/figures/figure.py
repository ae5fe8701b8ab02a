"""What a picture is: words and rows at once, the drawing only when somebody looks at it."""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from hashlib import sha256
from pathlib import Path
from threading import Lock

from seedbank.common.answers import Source

_MOST_KEPT = 64
_KEPT: OrderedDict[str, bytes] = OrderedDict()
_KEEPING = Lock()


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its text alternative.

    It takes ``width`` by ``height`` CSS pixels, is lettered for that size and never to be shown
    smaller. ``alt`` is the picture in one or two sentences; ``rows`` under ``header`` tell all that
    it draws. ``drawn_from`` is everything that ``draw`` draws from, as text.
    """

    width: int
    height: int
    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sources: tuple[Source, ...]
    drawn_from: str = field(repr=False)
    draw: Callable[[], bytes] = field(repr=False, compare=False)

    @property
    def digest(self) -> str:
        """Names these very bytes, known without drawing: for an address kept for good, or ETag."""
        return sha256(f"{_look()}{self.alt}{self.drawn_from}".encode()).hexdigest()[:16]

    @property
    def svg(self) -> bytes:
        """The document, drawn at the first look and kept while others aren't looked at more."""
        digest = self.digest
        with _KEEPING:
            if digest in _KEPT:
                _KEPT.move_to_end(digest)
                return _KEPT[digest]
        drawn = self.draw()
        with _KEEPING:
            _KEPT[digest] = drawn
            while len(_KEPT) > _MOST_KEPT:
                _KEPT.popitem(last=False)
        return drawn


@cache
def _look() -> str:
    """Changes with the code that draws."""
    here = Path(__file__).parent
    sources = sorted([*here.glob("*.py"), *here.parents[1].glob("*/pages/*_figure.py")])
    return sha256(b"".join(source.read_bytes() for source in sources)).hexdigest()
