"""What a picture is: the drawing, and the same told in words and rows."""

from dataclasses import dataclass
from hashlib import sha256

from seedbank.service.answers.base import Source


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its text alternative.

    ``svg`` is a whole document of ``width`` by ``height`` CSS pixels, lettered for that size and
    never to be shown smaller. ``alt`` is the picture in one or two sentences; ``rows`` under
    ``header`` give everything that it draws.
    """

    svg: bytes
    width: int
    height: int
    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sources: tuple[Source, ...] = ()

    @property
    def digest(self) -> str:
        """Names these very bytes, for an ETag or an address that may be kept for good."""
        return sha256(self.svg).hexdigest()[:16]
