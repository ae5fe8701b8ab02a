"""Stamps: a few counts and sums that change whenever what an answer rests on has changed.

Answers that are dear to work out are kept in memory under the stamp of what they were made from,
and used again while it is the same. A stamp is one query, a hundredth of the work it saves.

Rows that are edited carry a version that only grows; rows that are not are weighed by their id,
twice over, so that two edits don't cancel; the moment of the last entry tells a row deleted and
made anew under its number from the one before.
"""

from collections.abc import Callable, Iterator
from functools import cache, reduce
from typing import Any, Final

from sqlalchemy import BigInteger, ColumnElement, Select, Subquery, cast, func, select, true
from sqlmodel import Session, SQLModel, col

from seedbank.database.change_counter import moment_of

Stamp = tuple[Any, ...]
_PRIME: Final = 9973  # of the second weighing by id


Topic = Callable[[], Iterator[Subquery]]


def stamp_of(session: Session, *topics: Topic) -> Stamp:
    """Read anew only where anything at all has been committed since, for it reads whole tables."""
    connection = session.connection()
    moment = moment_of(connection)
    known: dict[Any, tuple[Any, Stamp]] = connection.info.setdefault("seedbank_stamps", {})
    if moment is not None and topics in known and known[topics][0] == moment:
        return known[topics][1]
    stamp = tuple(session.execute(_query(*topics)).one())
    if moment is not None:
        known[topics] = (moment, stamp)
    return stamp


@cache
def _query(*topics: Topic) -> Select[*tuple[Any, ...]]:
    first, *others = [part for topic in topics for part in topic()]
    row = reduce(lambda so_far, part: so_far.join(part, true()), others, first.select())
    return row.with_only_columns(*(column for part in (first, *others) for column in part.columns))


def edited(table: type[SQLModel], *more: Any, last: Any = None) -> Iterator[Subquery]:
    """Parts for a table whose rows carry a version."""
    return weighed(table, col(table.version), *more, last=last)  # type: ignore[attr-defined]  # each Editable has one


def weighed(
    table: type[SQLModel],
    *values: Any,
    last: Any = None,
    where: ColumnElement[bool] | None = None,
) -> Iterator[Subquery]:
    """Number of rows, values weighed by id in two ways, and the greatest of a column."""
    number = cast(col(table.id), BigInteger)  # type: ignore[attr-defined]  # every table here has one
    wanted: list[ColumnElement[Any]] = [func.count(), func.max(number)]
    for value in values:
        whole = cast(value, BigInteger)
        wanted += [func.sum(whole * number), func.sum(whole * (number * number % _PRIME))]
    if last is not None:
        wanted.append(func.max(col(last)))
    rows = select(*wanted).select_from(table)
    if where is not None:
        rows = rows.where(where)
    yield rows.subquery()
