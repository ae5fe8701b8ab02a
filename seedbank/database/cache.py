"""Answers that are dear to work out, kept in memory while nothing they rest on has changed.

An answer is kept under the change counters (``change_counters``) of what it was made from, so none
is given that something written since would alter, by whichever server. There is one cache a
database, with one lock: of those who ask the same at once one works it out.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from contextlib import nullcontext
from dataclasses import dataclass
from threading import Lock
from typing import Any, Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Pool
from sqlmodel import Session

from seedbank.common.errors import Busy
from seedbank.database.lanes import LONGEST_WAIT_S, Lane
from seedbank.database.stored_answers import read_answer, store_answer
from seedbank.database.transaction import let_go

Answer = TypeVar("Answer")
_Key = tuple[Hashable, Hashable, Hashable]  # region, what is asked, and the state it is asked in


@dataclass(frozen=True, slots=True)
class _Entry:
    """An answer, and the state of what it was made from."""

    state: Hashable
    answer: Any


class Cache:
    """All that is kept for one database."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.entries: dict[Hashable, OrderedDict[Hashable, _Entry]] = {}
        self.under_way: dict[_Key, Future[Any]] = {}

    def last(self, region: Hashable, asked: Hashable) -> _Entry | None:
        entries = self.entries.get(region, OrderedDict())
        if asked in entries:
            entries.move_to_end(asked)
        return entries.get(asked)

    def keep(self, region: Hashable, asked: Hashable, entry: _Entry, most: int) -> None:
        entries = self.entries.setdefault(region, OrderedDict())
        entries[asked] = entry
        entries.move_to_end(asked)
        while len(entries) > most:
            entries.popitem(last=False)


_CACHES: WeakKeyDictionary[Pool, Cache] = WeakKeyDictionary()
_CACHES_LOCK = Lock()


def cache_of(session: Session) -> Cache:
    """The cache of a session's database; forgotten with its connection pool."""
    pool = session.get_bind().engine.pool
    with _CACHES_LOCK:
        return _CACHES.setdefault(pool, Cache())


@dataclass(frozen=True, slots=True, eq=False)
class CacheRegion(Generic[Answer]):
    """Answers of one sort: the ``most`` that were used last are kept.

    Heavy work waits for its turn in a ``lane``. Answers are shared: whoever gets one must not
    change it. With ``stored``, the model of its answers, which no other region may have, the last
    of them outlasts the program.
    """

    most: int = 1
    lane: Lane | None = None
    stored: type[Answer] | None = None

    def get(
        self,
        session: Session,
        state: Hashable,
        work: Callable[[], Answer],
        *,
        asked: Hashable = None,
        worth_keeping: Callable[[Answer], bool] = lambda _: True,
    ) -> Answer:
        """The answer to ``asked``, worked out unless it was for this ``state`` (``changes``, days).

        The state is read before the work begins: a write in between gives newer knowledge under
        an older state, which the next caller won't match; never the other way about. Those who
        wait for another's work hold no connection meanwhile, and get its answer or its fault.

        Raises Busy: the lane is full, or the wait too long.
        """
        cache = cache_of(session)
        with cache.lock:
            cached = cache.last(self, asked)
        if cached is not None and cached.state == state:
            return cached.answer  # type: ignore[no-any-return]  # a region's entries are its answers
        key = (self, asked, state)
        with self.lane.place() if self.lane else nullcontext():
            promised, mine = self._join(cache, key)
            if mine:
                self._work(session, key, promised, work, worth_keeping)
            elif not promised.done():
                let_go(session)
            return _awaited(promised)

    def last(self, session: Session, *, asked: Hashable = None) -> Answer | None:
        """The answer worked out last, whatever has changed since."""
        cache = cache_of(session)
        with cache.lock:
            cached = cache.last(self, asked)
        return None if cached is None else cached.answer

    def ready(self, session: Session, state: Hashable, *, asked: Hashable = None) -> Answer | None:
        """The answer for this state, if it is at hand."""
        cache = cache_of(session)
        with cache.lock:
            cached = cache.last(self, asked)
        if cached is not None and cached.state == state:
            return cached.answer  # type: ignore[no-any-return]  # a region's entries are its answers
        answer = self._stored(session, asked, state)
        if answer is not None:
            with cache.lock:
                cache.keep(self, asked, _Entry(state, answer), self.most)
        return answer

    def under_way(self, session: Session) -> bool:
        """Whether an answer is being worked out, to whatever is asked."""
        cache = cache_of(session)
        with cache.lock:
            return any(region is self for region, _, _ in cache.under_way)

    def _stored(self, session: Session, asked: Hashable, state: Hashable) -> Answer | None:
        model: Any = self.stored
        return model and read_answer(session, model, (asked, state))

    def _join(self, cache: Cache, key: _Key) -> tuple[Future[Answer], bool]:
        """The answer under way, or ready since; and whether it is this thread's to work out."""
        _, asked, state = key
        with cache.lock:
            if key in cache.under_way:
                return cache.under_way[key], False
            promised: Future[Answer] = Future()
            cached = cache.last(self, asked)
            if cached is not None and cached.state == state:
                promised.set_result(cached.answer)
                return promised, False
            cache.under_way[key] = promised
            return promised, True

    def _work(
        self,
        session: Session,
        key: _Key,
        promised: Future[Answer],
        work: Callable[[], Answer],
        worth_keeping: Callable[[Answer], bool],
    ) -> None:
        cache, (asked, state) = cache_of(session), key[1:]
        try:
            with self.lane.turn() if self.lane else nullcontext():
                stored = self._stored(session, asked, state)
                answer = work() if stored is None else stored
        except BaseException as fault:
            with cache.lock:
                del cache.under_way[key]
            # Who stopped this thread did not mean to stop the others.
            promised.set_exception(fault if isinstance(fault, Exception) else Busy())
            raise
        with cache.lock:
            del cache.under_way[key]
            if worth_keeping(answer):
                cache.keep(self, asked, _Entry(state, answer), self.most)
        promised.set_result(answer)
        if self.stored is not None and stored is None and worth_keeping(answer):
            store_answer(session, (asked, state), answer)  # type: ignore[arg-type]  # of that model


def _awaited(answer: Future[Answer]) -> Answer:
    try:
        return answer.result(LONGEST_WAIT_S)
    except TimeoutError:
        if answer.done():
            raise
        raise Busy from None
