"""What is dear to work out, kept in memory for each database while its stamp stays the same.

A stamp is a few counts and sums that change whenever what an answer rests on has changed: one
query, a hundredth of the work it saves. Rows that are edited carry a version that only grows;
rows that are not are weighed by their id, twice over, so that two edits don't cancel; the moment
of the last entry tells a row deleted and made anew under its number from the one before. Whether
a database has changed at all since it was last asked is told at next to no cost.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from concurrent.futures import Future
from contextlib import nullcontext
from functools import cache, reduce
from threading import Lock
from typing import Any, Final, Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Connection,
    Pool,
    Select,
    Subquery,
    cast,
    func,
    select,
    true,
)
from sqlmodel import Session, SQLModel, col

from seedbank.common.errors import Busy
from seedbank.database.engine import only_reads
from seedbank.database.lanes import LONGEST_WAIT_S, Lane
from seedbank.database.transaction import let_go


def moment_of(connection: Connection) -> Hashable | None:
    """Equal on one connection only while nobody has committed anything; None: can't be told.

    SQLite counts the commits of others and the changes made here; PostgreSQL names the
    transactions that are seen. A transaction that may write sees its own changes besides, and may
    take them back: nothing can be told of it.
    """
    if not only_reads(connection):
        return None
    if connection.dialect.name == "postgresql":
        return str(connection.exec_driver_sql("SELECT pg_current_snapshot()::text").scalar_one())
    raw = connection.connection.driver_connection
    assert raw is not None
    return connection.exec_driver_sql("PRAGMA data_version").scalar_one(), raw.total_changes


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


Answer = TypeVar("Answer")
_Asked = tuple[Pool, Hashable, Stamp]


class Kept(Generic[Answer]):
    """Answers of one sort, at most ``most`` for each database, the longest unused dropped first.

    Databases are told apart by their connection pool and forgotten with it. Of threads that ask
    for the same at once one works it out, in its ``lane`` if it is heavy work; the others wait for
    that answer, or for what went wrong, and hold no connection meanwhile. Answers are shared:
    whoever gets one must not change it.
    """

    def __init__(self, most: int = 1, *, lane: Lane | None = None) -> None:
        self._most = most
        self._lane = lane
        self._lock = Lock()
        self._under_way: dict[_Asked, Future[Answer]] = {}
        self._kept: WeakKeyDictionary[Pool, OrderedDict[Hashable, tuple[Stamp, Answer]]]
        self._kept = WeakKeyDictionary()

    def get(
        self,
        session: Session,
        stamp_of: Callable[[Session], Stamp],
        work: Callable[[], Answer],
        *,
        asked: Hashable = None,
        worth_keeping: Callable[[Answer], bool] = lambda _: True,
    ) -> Answer:
        """The answer to ``asked``, worked out anew unless it was under the present stamp.

        The stamp is read first: a write in between gives newer knowledge under an older stamp,
        which the next caller won't match; never the other way about.

        Raises Busy: the lane is full, or the wait too long.
        """
        stamp = stamp_of(session)
        kept = self.last(session, asked=asked)
        if kept is not None and kept[0] == stamp:
            return kept[1]
        key = (_pool(session), asked, stamp)
        with self._lane.place() if self._lane else nullcontext():
            answer, mine = self._join(key)
            if mine:
                self._work(key, answer, work, worth_keeping)
            elif not answer.done():
                let_go(session)
            return _awaited(answer)

    def last(self, session: Session, *, asked: Hashable = None) -> tuple[Stamp, Answer] | None:
        """What was kept last, and its stamp, fresh or not."""
        with self._lock:
            return self._last(_pool(session), asked)

    def _last(self, pool: Pool, asked: Hashable) -> tuple[Stamp, Answer] | None:
        shelf = self._kept.get(pool)
        if shelf is None or asked not in shelf:
            return None
        shelf.move_to_end(asked)
        return shelf[asked]

    def _join(self, key: _Asked) -> tuple[Future[Answer], bool]:
        """The answer that is under way, or ready since; and whether it is this thread's to give."""
        pool, asked, stamp = key
        with self._lock:
            if key in self._under_way:
                return self._under_way[key], False
            answer: Future[Answer] = Future()
            kept = self._last(pool, asked)
            if kept is not None and kept[0] == stamp:
                answer.set_result(kept[1])
                return answer, False
            self._under_way[key] = answer
            return answer, True

    def _work(
        self,
        key: _Asked,
        promised: Future[Answer],
        work: Callable[[], Answer],
        worth_keeping: Callable[[Answer], bool],
    ) -> None:
        pool, asked, stamp = key
        try:
            with self._lane.turn() if self._lane else nullcontext():
                answer = work()
        except BaseException as fault:
            with self._lock:
                del self._under_way[key]
            # Who stopped this thread did not mean to stop the others.
            promised.set_exception(fault if isinstance(fault, Exception) else Busy())
            raise
        with self._lock:
            del self._under_way[key]
            if worth_keeping(answer):
                self._keep(pool, asked, (stamp, answer))
        promised.set_result(answer)

    def _keep(self, pool: Pool, asked: Hashable, one: tuple[Stamp, Answer]) -> None:
        shelf = self._kept.setdefault(pool, OrderedDict())
        shelf[asked] = one
        shelf.move_to_end(asked)
        while len(shelf) > self._most:
            shelf.popitem(last=False)


def _awaited(answer: Future[Answer]) -> Answer:
    try:
        return answer.result(LONGEST_WAIT_S)
    except TimeoutError:
        if answer.done():
            raise
        raise Busy from None


def _pool(session: Session) -> Pool:
    return session.get_bind().engine.pool
