"""Whether anything was committed is told on both engines, whoever committed it."""

from collections.abc import Callable
from itertools import count

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, col, update

from seedbank.database.cache import moment_of
from seedbank.database.engine import session_factory
from seedbank.lots.tables.lots import Lot
from seedbank.viability.tables.change_stamps import judged_stamp
from tests.tables.conftest import Garden


def _asked(engine: Engine, work: Callable[[Session], object]) -> tuple[object, int]:
    """The answer of a session that only reads, and how many whole-table sums it took."""
    sums: list[str] = []

    def listen(*heard: object) -> None:
        sums.extend(part for part in heard if isinstance(part, str) and "sum(" in part)

    event.listen(engine, "before_cursor_execute", listen)
    with session_factory(engine, writes=False)() as reader:
        answer = work(reader)
    event.remove(engine, "before_cursor_execute", listen)
    return answer, len(sums)


def _moment(session: Session) -> object:
    return moment_of(session.connection())


def test_a_stamp_is_summed_once_while_nothing_is_committed(
    garden: Garden, session: Session, engine: Engine
) -> None:
    garden.lot(seeds=10)
    session.commit()
    first, sums = _asked(engine, judged_stamp)
    assert sums == 1
    for _ in range(200):
        before = _asked(engine, _moment)
        again, _ = _asked(engine, judged_stamp)
        once_more, sums = _asked(engine, judged_stamp)
        after = _asked(engine, _moment)
        assert first == again == once_more
        if before == after:  # else others on the server have committed in their own databases
            break
    else:
        pytest.fail("others on the server never rested")
    assert sums == 0


def test_what_another_commits_is_seen_and_what_it_takes_back_is_not(
    garden: Garden, session: Session, engine: Engine
) -> None:
    lot = garden.lot(seeds=10)
    session.commit()
    before, _ = _asked(engine, judged_stamp)
    session.execute(update(Lot).where(col(Lot.id) == lot.id).values(version=Lot.version + 1))
    assert _asked(engine, judged_stamp)[0] == before
    session.rollback()
    assert _asked(engine, judged_stamp)[0] == before
    session.execute(update(Lot).where(col(Lot.id) == lot.id).values(version=Lot.version + 1))
    session.commit()
    assert _asked(engine, judged_stamp)[0] != before


def test_what_one_connection_writes_and_then_reads_is_seen(engine: Engine) -> None:
    """The pool hands the same connection to the reader, the writer and the reader again."""
    seen = []
    for start in (10, 20, 30):
        seen.append(_asked(engine, judged_stamp)[0])
        with session_factory(engine)() as writer:
            Garden(writer, count(start)).lot(seeds=10)
            writer.commit()
    assert len(set(seen)) == 3


def test_of_a_session_that_may_write_nothing_is_told(garden: Garden, session: Session) -> None:
    before = judged_stamp(session)
    garden.lot(seeds=10)
    assert moment_of(session.connection()) is None
    assert judged_stamp(session) != before
    session.rollback()
    assert judged_stamp(session) == before
