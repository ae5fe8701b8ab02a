"""Where a figure comes from and how far it has been checked."""

from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass
from enum import StrEnum
from typing import Generic, TypeVar

T = TypeVar("T")


class Confidence(StrEnum):
    """``read`` in its source, recalled from ``memory``, ``computed`` here, or one's ``own``."""

    READ = "read"
    MEMORY = "memory"
    COMPUTED = "computed"
    OWN = "own"


class Basis(StrEnum):
    """Whether a figure was published for the kind itself or is borrowed."""

    OWN = "own"
    SAME_SPECIES = "same species"
    STAND_IN = "stand-in"


@dataclass(frozen=True, slots=True)
class Source:
    """The text of a source, and how far the figure was checked against it."""

    text: str
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class Fact(Generic[T]):
    """One value with its source. ``note`` says what the reader should know before using it.

    ``basis`` is ``own`` unless the figure was published for another kind.
    """

    value: T
    source: str
    confidence: Confidence
    note: str = ""
    basis: Basis = Basis.OWN

    @property
    def cited(self) -> Source:
        return Source(self.source, self.confidence)


@dataclass(frozen=True, slots=True)
class Spread:
    """A typical value and the range printed around it; ``low`` and ``high`` None if not printed."""

    typical: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A printed range, ``low`` <= ``high``; both the same when one number was printed."""

    low: float
    high: float


def sources_of(*holders: object) -> tuple[Source, ...]:
    """Every distinct source in the facts given, in the order met.

    Takes ``Fact`` values, tuples of them, dataclasses holding them (such as ``KindFacts``) and
    None, so an answer can hand over all it used. One text seen with two confidences gives two
    entries: part read and part recalled is worth saying.
    """
    return tuple(dict.fromkeys(_walk(holders)))


def _walk(holder: object) -> Iterable[Source]:
    if isinstance(holder, Fact):
        yield holder.cited
    elif isinstance(holder, Source):
        yield holder
    elif isinstance(holder, tuple | list):
        for item in holder:
            yield from _walk(item)
    elif is_dataclass(holder) and not isinstance(holder, type):
        for field in fields(holder):
            yield from _walk(getattr(holder, field.name))
