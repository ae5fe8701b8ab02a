"""Many writers at once, and one killed at work."""

import signal
import subprocess
import sys
import threading
from datetime import UTC, date, datetime

from sqlalchemy import Engine, select
from sqlmodel import col

from seedbank.common.errors import Overdrawn
from seedbank.database.engine import open_engine, session_factory
from seedbank.database.migrate import upgrade
from seedbank.lots.tables.ledger import Movement, MovementReason, balance, book
from seedbank.lots.tables.lots import next_codes
from tests.tables.conftest import Garden

DAY = date(2027, 2, 1)
NOW = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)


def _stocked(engine: Engine, seeds: int) -> int:
    with session_factory(engine)() as session:
        lot_id = Garden(session).lot(seeds=seeds).id or 0
        session.commit()
    return lot_id


def test_fifty_programs_taking_from_one_packet_never_overdraw_it(
    engine: Engine, database_url: str
) -> None:
    lot_id = _stocked(engine, seeds=300)
    taken: list[int] = []
    refused: list[int] = []
    failures: list[BaseException] = []
    start = threading.Barrier(50)

    def take() -> None:
        own = open_engine(database_url)
        start.wait()
        try:
            with session_factory(own)() as session:
                book(
                    session,
                    Movement(
                        lot_id=lot_id,
                        on_date=DAY,
                        reason=MovementReason.SOWN,
                        seeds=-10,
                        recorded_at=NOW,
                    ),
                )
                session.commit()
            taken.append(10)
        except Overdrawn as overdrawn:
            refused.append(overdrawn.held)
        except BaseException as failure:  # carried to the main thread
            failures.append(failure)
        finally:
            own.dispose()

    threads = [threading.Thread(target=take) for _ in range(50)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert (len(taken), refused) == (30, [0] * 20)
    with session_factory(engine)() as session:
        assert balance(session, lot_id).seeds == 0
        serials = session.execute(
            select(col(Movement.serial)).where(col(Movement.lot_id) == lot_id)
        ).scalars()
        assert sorted(serials) == list(range(1, 32))


def test_codes_counted_out_by_many_at_once_are_all_different(engine: Engine) -> None:
    codes: list[str] = []

    def count_out() -> None:
        for _ in range(5):
            with session_factory(engine)() as session:
                code = next_codes(session, 1)[0]
                session.commit()
            codes.append(code)

    threads = [threading.Thread(target=count_out) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(codes)) == len(codes) == 40


_WRITER = """
import sys
from datetime import UTC, date, datetime
from seedbank.database.engine import open_engine, session_factory
from seedbank.lots.tables.ledger import Movement, MovementReason, book

sessions = session_factory(open_engine(sys.argv[1]))
while True:
    with sessions() as session:
        movement = Movement(
            lot_id=int(sys.argv[2]),
            on_date=date(2027, 2, 1),
            reason=MovementReason.SOWN,
            seeds=-1,
            recorded_at=datetime.now(UTC),
        )
        book(session, movement)
        session.commit()
    print(movement.id, flush=True)
"""


def _write_until_killed(url: str, lot_id: int, acknowledged: int) -> set[int]:
    """Ids the writer said it had committed before it was killed in the middle of its work."""
    writer = subprocess.Popen(
        [sys.executable, "-c", _WRITER, url, str(lot_id)], stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    said = [writer.stdout.readline() for _ in range(acknowledged)]
    writer.kill()
    said += writer.stdout.readlines()
    writer.stdout.close()
    assert writer.wait() == -signal.SIGKILL
    return {int(line) for line in said if line.endswith("\n")}


def test_a_writer_killed_at_work_loses_nothing_it_acknowledged(database_url: str) -> None:
    kills = 10
    engine = open_engine(database_url)
    upgrade(engine)
    lot_id = _stocked(engine, seeds=100_000)
    acknowledged: set[int] = set()
    for kill in range(kills):
        acknowledged |= _write_until_killed(database_url, lot_id, acknowledged=3 + 7 * kill)
    with session_factory(engine)() as session:
        kept = session.execute(select(Movement).order_by(col(Movement.serial))).scalars().all()
        assert acknowledged <= {movement.id for movement in kept}
        # Besides those, at most the one commit a killed writer had no time to report.
        assert len(kept) - 1 - len(acknowledged) <= kills
        assert [movement.serial for movement in kept] == list(range(1, len(kept) + 1))
        assert kept[-1].balance_seeds == 100_000 - (len(kept) - 1)
        if engine.dialect.name == "sqlite":
            check = session.connection().exec_driver_sql("PRAGMA integrity_check")
            assert check.scalar() == "ok"
    engine.dispose()
