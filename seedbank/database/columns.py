"""Rows of a query read as columns, a few thousand at a time."""

from collections.abc import Callable, Sequence
from itertools import chain
from typing import Any, Final

import numpy as np
from sqlalchemy import Select
from sqlmodel import Session

from seedbank.science.quantities import BoolArray, FloatArray, IntArray

_AT_ONCE: Final = 5000  # rows
Turn = Callable[[Sequence[Any]], Any]


def read_columns(session: Session, query: Select[*tuple[Any, ...]], turns: Sequence[Turn]) -> Any:
    """A query's columns, each turned to an array or a tuple.

    Rows are read and let go some thousands at a time: as objects they are ten times the size.
    """
    read: list[list[Any]] = [[turn(())] for turn in turns]
    rows = session.execute(query, execution_options={"yield_per": _AT_ONCE})
    for some in rows.partitions():
        for column, turn, values in zip(read, turns, zip(*some, strict=True), strict=True):
            column.append(turn(values))
    return [
        np.concatenate(parts) if isinstance(parts[0], np.ndarray) else tuple(chain(*parts))
        for parts in read
    ]


def numbers(values: Sequence[Any]) -> IntArray:
    """Whole numbers."""
    return np.array(values, dtype=np.int64)


def figures(values: Sequence[Any]) -> FloatArray:
    """Figures, nan where there is none."""
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)


def flags(values: Sequence[Any]) -> BoolArray:
    """Yes or no."""
    return np.array(values, dtype=np.bool_)


def shared() -> Turn:
    """A turn to a tuple in which equal values are one object."""
    known: dict[Any, Any] = {}
    return lambda values: tuple(known.setdefault(value, value) for value in values)
