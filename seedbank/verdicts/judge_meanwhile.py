"""A small collection is judged while its page is made, in a second or two; a large one in the
background, so that a page can say so and not keep one waiting."""

from contextlib import suppress
from datetime import date
from threading import Thread

from sqlalchemy import Engine, StaticPool, func
from sqlmodel import Session, col, select

from seedbank.common.errors import Busy
from seedbank.database.engine import session_factory
from seedbank.lots.tables.lots import Lot

AT_ONCE = 5000
"""So many lots at most are judged while a page waits. Our choice."""


def being_judged(session: Session, *, today: date) -> int:
    """How many lots are being judged, begun by this very call if need be; 0: none has to wait."""
    engine = session.get_bind().engine
    if isinstance(engine.pool, StaticPool):
        return 0  # a database in memory has one connection and lends it to nobody
    lots = session.exec(select(func.count(col(Lot.id)))).one()
    if lots <= AT_ONCE:
        return 0
    from seedbank.verdicts.judge_lots import judged_already, judging_now

    if judged_already(session, today=today):
        return 0
    if not judging_now(session):
        Thread(target=_judge, args=(engine, today), daemon=True).start()
    return lots


def _judge(engine: Engine, today: date) -> None:
    from seedbank.verdicts.judge_lots import judge_collection

    # Where too many ask, whoever looks again begins it again.
    with suppress(Busy), session_factory(engine, writes=False)() as session:
        judge_collection(session, today=today)
