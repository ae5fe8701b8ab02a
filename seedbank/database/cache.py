"""What is dear to work out, kept in memory for each database while its stamp stays the same."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from contextlib import nullcontext
from threading import Lock
from typing import Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Pool
from sqlmodel import Session

from seedbank.common.errors import Busy
from seedbank.database.change_stamps import Stamp
from seedbank.database.lanes import LONGEST_WAIT_S, Lane
from seedbank.database.transaction import let_go

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
