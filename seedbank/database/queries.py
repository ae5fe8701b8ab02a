"""What the queries share: one row or word that it is missing, pages by keyset, rows as columns.

A collection without a single lot: what is told of it wherever lots are spoken of.

Nothing may be said then as if all were well: where there is no seed, none is in order.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain, islice
from operator import itemgetter
from typing import Any, Final, Generic, NamedTuple, TypeVar

import numpy as np
from sqlalchemy import Select, and_, column, literal, or_, select, table, tuple_
from sqlalchemy.orm import InstrumentedAttribute
from sqlalchemy.types import TypeDecorator
from sqlmodel import Session, SQLModel

from seedbank.common.errors import BadValue, Missing
from seedbank.science.quantities import BoolArray, Finding, FloatArray, IntArray

Table = TypeVar("Table", bound=SQLModel)
Item = TypeVar("Item")

_MOST_ASKED = 10_000
_TOO_BIG = 2**31  # no id reaches it, and PostgreSQL refuses to compare with it


@dataclass(frozen=True, slots=True)
class Cursor:
    """The last row of a page: its sort key (a date in ISO form, None for unknown) and its id."""

    key: str | int | None
    id: int


@dataclass(frozen=True, slots=True)
class Page(Generic[Item]):
    """Some rows in order, and where the next page starts (None: this is the last).

    ``near``: none answers to the words asked for, these come near them.
    """

    items: list[Item]
    next: Cursor | None
    near: bool = False


@dataclass(frozen=True, slots=True)
class Paging:
    """Which page of a list is asked for: at most ``limit`` rows, from where another page ended."""

    limit: int = 50
    after: Cursor | None = None


FIRST: Final = Paging()


def fetch(session: Session, table: type[Table], key: object, *, what: str) -> Table:
    """The row with this primary key. Raises Missing: there is none."""
    row = session.get(table, key)
    if row is None:
        raise Missing(what, key)
    return row


def in_parts(numbers: Iterable[Item]) -> Iterator[list[Item]]:
    """Ids or codes, as many at a time as one statement takes (PostgreSQL: 65,535 at most)."""
    left = iter(numbers)
    while part := list(islice(left, _MOST_ASKED)):
        yield part


class Order(NamedTuple):
    """By a column, its unknowns last, and then by the row's id."""

    sort: Any
    row_id: Any
    descending: bool = False


def page_of(
    session: Session,
    query: Any,
    order: Order,
    paging: Paging,
    *,
    read: Callable[[Any], Any] = itemgetter(0),
) -> Page[Any]:
    """The page asked of ``query``'s rows, each as ``read`` makes it of its columns.

    A keyset page costs the same however far on it is, and rows added meanwhile shift nothing.
    Raises BadValue: a limit under 1, or a cursor made for another order.
    """
    limit = paging.limit
    if limit < 1:
        raise BadValue("no-rows-asked", "limit", limit)
    sort, row_id, descending = order
    if paging.after is not None:
        query = query.where(_beyond(order, paging.after))
    by_sort, by_id = (sort.desc(), row_id.desc()) if descending else (sort.asc(), row_id.asc())
    if sort.expression.nullable:
        by_sort = by_sort.nulls_last()
    # A sort by the id itself names it once: SQLite would sort twice over otherwise.
    by = (by_id,) if sort is row_id else (by_sort, by_id)
    query = query.add_columns(sort, row_id).order_by(*by).limit(limit + 1)
    rows = session.execute(query).all()
    more = len(rows) > limit
    rows = rows[:limit]
    return Page([read(row) for row in rows], _cursor(rows[-1]) if more else None)


def matching(query: Any, *asked: tuple[Any, object]) -> Any:
    """The rows whose columns have the values asked, or that meet a condition (True, False).

    None asks nothing.
    """
    for what, value in asked:
        if value is not None:
            met = what if value is True else ~what if value is False else what == value
            query = query.where(met)
    return query


def _cursor(row: Any) -> Cursor:
    key, row_id = row[-2], row[-1]
    return Cursor(key.isoformat() if isinstance(key, date) else key, row_id)


def _beyond(order: Order, after: Cursor) -> Any:
    sort, row_id, descending = order
    here, key = tuple_(sort, row_id), _key_of(sort, after)
    last_key = literal(key, sort.type)
    last = tuple_(last_key, literal(after.id))
    if key is None:
        return and_(sort.is_(None), row_id < after.id if descending else row_id > after.id)
    beyond = here < last if descending else here > last
    if sort.parent is not row_id.parent:
        # Two tables' columns make no index together; the first one's own still finds the place.
        beyond = and_(sort <= last_key if descending else sort >= last_key, beyond)
    return or_(beyond, sort.is_(None)) if sort.expression.nullable else beyond


def _key_of(sort: InstrumentedAttribute[Any], after: Cursor) -> str | int | date | None:
    stored = sort.type.impl_instance if isinstance(sort.type, TypeDecorator) else sort.type
    wanted, key = stored.python_type, after.key
    unknown = key is None and sort.expression.nullable
    try:
        read = date.fromisoformat(str(key)) if wanted is date and key is not None else key
    except ValueError:
        read = None
    fits = isinstance(read, wanted) or unknown
    if not fits or not all(abs(n) < _TOO_BIG for n in (after.id, read) if isinstance(n, int)):
        raise BadValue("cursor-of-another-list", "after", after.key)
    return read


_AT_ONCE: Final = 5000  # rows
Turn = Callable[[Sequence[Any]], Any]


def read_columns(session: Session, query: Select[*tuple[Any, ...]], turns: Sequence[Turn]) -> Any:
    """A query's columns, each turned to an array or a tuple.

    Rows are read and let go some thousands at a time: as objects they are ten times the size.
    """
    read: list[list[Any]] = [[turn(())] for turn in turns]
    rows = session.execute(query, execution_options={"yield_per": _AT_ONCE})
    for some in rows.partitions():
        for parts, turn, values in zip(read, turns, zip(*some, strict=True), strict=True):
            parts.append(turn(values))
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


EMPTY = Finding("no-lots-yet")
NOTHING_YET = (EMPTY, Finding("no-lots-begin"))


def holds_no_lots(session: Session) -> bool:
    """Was no lot ever taken in? One that was used up counts as a lot."""
    return session.execute(select(column("id")).select_from(table("lot")).limit(1)).first() is None


def note_if_empty(lots: int) -> tuple[Finding, ...]:
    """What to tell first, of a collection of so many lots; none unless it is empty."""
    return () if lots else NOTHING_YET
