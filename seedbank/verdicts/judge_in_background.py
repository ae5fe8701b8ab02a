"""Judging a large collection in the background, so that a page can say so and not keep one waiting.

A small collection is judged while its page is made, in a second or two.
"""

from contextlib import suppress
from datetime import date
from threading import Lock, Thread
from weakref import WeakKeyDictionary

from sqlalchemy import Engine, Pool, StaticPool, func
from sqlmodel import Session, col, select

from seedbank.common.errors import Busy
from seedbank.database.engine import session_factory
from seedbank.lots.tables.lots import Lot
from seedbank.verdicts.judge_lots import judge_collection, judged_already

AT_ONCE = 5000
"""So many lots at most are judged while a page waits. Our choice."""

_LOCK = Lock()
_BEGUN: WeakKeyDictionary[Pool, Thread] = WeakKeyDictionary()


def being_judged(session: Session, *, today: date) -> int:
    """How many lots are being judged, begun by this very call if need be; 0: none has to wait.

    One pass at a time goes over each database, however many ask.
    """
    engine = session.get_bind().engine
    if isinstance(engine.pool, StaticPool) or judged_already(session, today=today):
        return 0  # a database in memory has one connection and lends it to nobody
    lots = session.exec(select(func.count(col(Lot.id)))).one()
    if lots <= AT_ONCE:
        return 0
    with _LOCK:
        begun = _BEGUN.get(engine.pool)
        if begun is None or not begun.is_alive():
            _BEGUN[engine.pool] = Thread(target=_judge, args=(engine, today), daemon=True)
            _BEGUN[engine.pool].start()
    return lots


def _judge(engine: Engine, today: date) -> None:
    # Where too many ask, whoever looks again begins it again.
    with suppress(Busy), session_factory(engine, writes=False)() as session:
        judge_collection(session, today=today)
