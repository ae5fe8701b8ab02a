"""What is dear to work out, kept in memory for each database while its stamp stays the same."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Pool
from sqlmodel import Session

from seedbank.stock.stamps import Stamp

Answer = TypeVar("Answer")


class Kept(Generic[Answer]):
    """Answers of one sort, at most ``most`` for each database, the longest unused dropped first.

    Databases are told apart by their connection pool and forgotten with it. Two threads that ask
    for the same at once may both work it out; neither waits for the other. Answers are shared:
    whoever gets one must not change it.
    """

    def __init__(self, most: int = 1) -> None:
        self._most = most
        self._lock = Lock()
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
        """
        stamp = stamp_of(session)
        kept = self.last(session, asked=asked)
        if kept is not None and kept[0] == stamp:
            return kept[1]
        answer = work()
        if worth_keeping(answer):
            self._keep(session, asked, (stamp, answer))
        return answer

    def last(self, session: Session, *, asked: Hashable = None) -> tuple[Stamp, Answer] | None:
        """What was kept last, and its stamp, fresh or not."""
        with self._lock:
            shelf = self._kept.get(_pool(session))
            if shelf is None or asked not in shelf:
                return None
            shelf.move_to_end(asked)
            return shelf[asked]

    def _keep(self, session: Session, asked: Hashable, one: tuple[Stamp, Answer]) -> None:
        with self._lock:
            shelf = self._kept.setdefault(_pool(session), OrderedDict())
            shelf[asked] = one
            shelf.move_to_end(asked)
            while len(shelf) > self._most:
                shelf.popitem(last=False)


def _pool(session: Session) -> Pool:
    return session.get_bind().engine.pool
